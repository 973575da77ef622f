"""Which window protects a zone against a group of pests, and whether it counts.

DEVELOPERS.md, "What a window does".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class OpenedWindow:
    """A window of an effective record or historic treatment; `treatment` names what opened it.

    `done` and `left` are the names of the wall runs treated and left out; without any left out it
    is a window of the whole zone.
    """

    key: int
    zone_id: int
    pest_group: str
    treatment: tuple[str, int]
    applied_on: date
    expires_on: date
    done: frozenset[str] = frozenset()
    left: frozenset[str] = frozenset()


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
    row. A zone of which wall runs were left out keeps what was in force before, until the runs
    left were treated too: then the window of that run holds which lapses first.

    Only the groups of the last treatment that opened a window count for renewals: an older group,
    and what a spreadsheet called general, is not asked for again.
    """
    opened: dict[tuple[int, str], list[OpenedWindow]] = {}
    for window in sorted(windows, key=_age):
        opened.setdefault((window.zone_id, window.pest_group), []).append(window)
    latest = {kept: held for kept, some in opened.items() if (held := in_force(some)) is not None}
    last = {window.zone_id: window for window in sorted(latest.values(), key=_age)}
    return sorted(
        Protection(zone_id, group, window.key, _counts(window, last[zone_id]), window.expires_on)
        for (zone_id, group), window in latest.items()
    )


def _age(window: OpenedWindow) -> tuple[date, int]:
    return window.applied_on, window.key


def in_force(windows: Sequence[OpenedWindow]) -> OpenedWindow | None:
    """The window in force of one zone and group, from the oldest to the newest; None where only
    parts of the zone were ever treated.

    Windows of parts count together as soon as they name every run that the last one knows.
    """
    newest = windows[-1]
    if not newest.left:
        return newest
    wanted, runs = newest.done | newest.left, _by_run(windows)
    if not wanted <= set(runs):
        return None
    return min((runs[name] for name in wanted), key=lambda one: (one.expires_on, one.key))


def _by_run(windows: Sequence[OpenedWindow]) -> dict[str, OpenedWindow]:
    """The latest window of each run that the newest window knows."""
    every = windows[-1].done | windows[-1].left
    runs: dict[str, OpenedWindow] = {}
    for window in reversed(windows):
        for name in window.done if window.left else every:
            runs.setdefault(name, window)
    return runs


def _counts(window: OpenedWindow, last: OpenedWindow) -> bool:
    return window.treatment == last.treatment
