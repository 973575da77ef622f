"""Which window protects a zone against a group of pests, and whether it counts.

DEVELOPERS.md, "What a window does".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class OpenedWindow:
    """A window of an effective record or historic treatment; `treatment` names what opened it."""

    key: int
    zone_id: int
    pest_group: str
    treatment: tuple[str, int]
    applied_on: date
    expires_on: date


@dataclass(frozen=True, order=True)
class Protection:
    """The window in force of one zone and pest group."""

    zone_id: int
    pest_group: str
    window: int
    counts: bool
    expires_on: date


def protections(windows: Iterable[OpenedWindow]) -> list[Protection]:
    """The protection of every zone and pest group in `windows`, ordered by zone and group.

    In force is the window of the latest application, whatever its length; on one day the later
    row. Only the groups of the last treatment that opened a window count for renewals: an older
    group, and what a spreadsheet called general, is not asked for again.
    """
    latest: dict[tuple[int, str], OpenedWindow] = {}
    last: dict[int, OpenedWindow] = {}
    for window in sorted(windows, key=lambda one: (one.applied_on, one.key)):
        latest[window.zone_id, window.pest_group] = window
        last[window.zone_id] = window
    return sorted(
        Protection(zone_id, group, window.key, _counts(window, last[zone_id]), window.expires_on)
        for (zone_id, group), window in latest.items()
    )


def _counts(window: OpenedWindow, last: OpenedWindow) -> bool:
    return window.treatment == last.treatment
