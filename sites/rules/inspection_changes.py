"""What changed since the last inspection, and where something is found again and again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sites.rules.findings import SEVERITY_ORDER


class Change(StrEnum):
    """One finding against the inspection before."""

    NEW = "new"
    WORSE = "worse"
    STILL = "still there"
    BETTER = "better"
    GONE = "gone"
    NOT_LOOKED = "not looked at again"


@dataclass(frozen=True)
class Seen:
    """A finding as it is compared: where, what kind, of which pest or condition, how bad."""

    checkpoint: str
    kind: str
    of: str
    severity: str
    words: str

    @property
    def key(self) -> tuple[str, str, str]:
        return self.checkpoint, self.kind, self.of

    @property
    def rank(self) -> int:
        return SEVERITY_ORDER.index(self.severity)


@dataclass(frozen=True)
class Changed:
    """One line of the comparison."""

    change: Change
    seen: Seen


def changes(
    before: Iterable[Seen], now: Iterable[Seen], looked_at: Collection[str]
) -> tuple[Changed, ...]:
    """Compare two inspections; `looked_at` are the checkpoints this time's round reached.

    Several findings of one place, kind and pest count as one, by the worst of them. What was found
    before and not now is gone only where somebody looked again.
    """
    old, new = _worst(before), _worst(now)
    found = [Changed(_change(old.get(key), one), one) for key, one in new.items()]
    for key, one in old.items():
        if key not in new:
            gone = Change.GONE if one.checkpoint in looked_at else Change.NOT_LOOKED
            found.append(Changed(gone, one))
    return tuple(sorted(found, key=lambda line: list(Change).index(line.change)))


def _worst(findings: Iterable[Seen]) -> dict[tuple[str, str, str], Seen]:
    worst: dict[tuple[str, str, str], Seen] = {}
    for one in findings:
        if one.key not in worst or worst[one.key].rank < one.rank:
            worst[one.key] = one
    return worst


def _change(before: Seen | None, now: Seen) -> Change:
    if before is None:
        return Change.NEW
    if before.rank == now.rank:
        return Change.STILL
    return Change.WORSE if before.rank < now.rank else Change.BETTER


@dataclass(frozen=True)
class HotSpot:
    """A checkpoint and in which years something was found there, with how many findings."""

    checkpoint: str
    years: tuple[tuple[int, int], ...]

    @property
    def total(self) -> int:
        return sum(count for _, count in self.years)


def hot_spots(found: Sequence[tuple[str, int]]) -> tuple[HotSpot, ...]:
    """Checkpoints with at least two findings (house rule), most first.

    `found` has one row a finding: checkpoint and year.
    """
    counts: dict[str, dict[int, int]] = {}
    for checkpoint, year in found:
        years = counts.setdefault(checkpoint, {})
        years[year] = years.get(year, 0) + 1
    spots = [HotSpot(one, tuple(sorted(years.items()))) for one, years in counts.items()]
    often = [spot for spot in spots if spot.total > 1]
    return tuple(sorted(often, key=lambda spot: (-spot.total, spot.checkpoint)))
