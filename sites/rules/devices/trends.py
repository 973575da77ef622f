"""How active the devices of a property were: by round, by month, by device and by pest."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from accounts.rules.day_words import MONTHS, short_day
from sites.rules.devices.words import EATEN_WORDS, LOOKED_AT, Outcome


@dataclass(frozen=True)
class Seen:
    """One check for the trend; `round_key` is the visit, or the day where there was none."""

    device: int
    round_key: str
    day: date
    outcome: str
    counts: Mapping[str, int] = field(default_factory=dict)
    eaten: int | None = None


@dataclass(frozen=True)
class Tally:
    """One round, month or device: looked at, active, not looked at, and counted by pest.

    `eaten` is the sum of quarters of bait, of `fed` devices whose bait was judged.
    """

    words: str
    checked: int
    active: int
    unseen: int
    counts: Mapping[str, int]
    eaten: int
    fed: int

    @property
    def share(self) -> Fraction:
        """Active devices of those looked at; 0 where none was."""
        return Fraction(self.active, self.checked) if self.checked else Fraction(0)

    @property
    def share_words(self) -> str:
        """5 of 12, 42 %."""
        if not self.checked:
            return "none looked at"
        return f"{self.active} of {self.checked}, {round(self.share * 100)} %"

    @property
    def caught(self) -> int:
        """Every pest counted."""
        return sum(self.counts.values())

    @property
    def counts_words(self) -> str:
        """3 House mouse, 1 German cockroach."""
        said = sorted(self.counts.items(), key=lambda row: (-row[1], row[0]))
        return ", ".join(f"{number} {name}" for name, number in said) or "none"

    @property
    def eaten_words(self) -> str:
        """2 1/4 of 4 baits."""
        if not self.fed:
            return "not judged"
        whole, quarters = divmod(self.eaten, 4)
        parts = [str(whole)] if whole or not quarters else []
        parts += [EATEN_WORDS[quarters]] if quarters else []
        return f"{' '.join(parts)} of {self.fed}"


def last_of_round(seen: Iterable[Seen]) -> list[Seen]:
    """Of several checks of a device in a round the last one counts; `seen` runs forward in time."""
    return list({(one.round_key, one.device): one for one in seen}.values())


def by_round(seen: Sequence[Seen]) -> tuple[Tally, ...]:
    """Each round, the oldest first, named by its first day."""
    groups: dict[str, list[Seen]] = defaultdict(list)
    for one in last_of_round(seen):
        groups[one.round_key].append(one)
    rows = sorted(groups.values(), key=lambda group: min(one.day for one in group))
    return tuple(
        _tally(short_day(min(one.day for one in rows_of), True), rows_of) for rows_of in rows
    )


def by_month(seen: Sequence[Seen]) -> tuple[Tally, ...]:
    """Each month with a check, the oldest first; every look at a device counts in it."""
    groups: dict[tuple[int, int], list[Seen]] = defaultdict(list)
    for one in last_of_round(seen):
        groups[one.day.year, one.day.month].append(one)
    return tuple(
        _tally(f"{MONTHS[month - 1]} {year}", groups[year, month]) for year, month in sorted(groups)
    )


def by_device(seen: Sequence[Seen]) -> tuple[Tally, ...]:
    """Each device by its number."""
    groups: dict[int, list[Seen]] = defaultdict(list)
    for one in last_of_round(seen):
        groups[one.device].append(one)
    return tuple(_tally(f"Device {number}", groups[number]) for number in sorted(groups))


def by_pest(seen: Sequence[Seen]) -> tuple[tuple[str, int, int], ...]:
    """Each pest with how many were counted and at how many devices, the most first."""
    total: Counter[str] = Counter()
    at: dict[str, set[int]] = defaultdict(set)
    for one in last_of_round(seen):
        for name, number in one.counts.items():
            total[name] += number
            at[name].add(one.device)
    rows = [(name, number, len(at[name])) for name, number in total.items()]
    return tuple(sorted(rows, key=lambda row: (-row[1], row[0])))


def _tally(words: str, rows: Collection[Seen]) -> Tally:
    looked = [one for one in rows if one.outcome in LOOKED_AT]
    counts: Counter[str] = Counter()
    for one in looked:
        counts.update(one.counts)
    judged = [one.eaten for one in looked if one.eaten is not None]
    return Tally(
        words=words,
        checked=len(looked),
        active=sum(one.outcome == Outcome.ACTIVITY for one in looked),
        unseen=len(rows) - len(looked),
        counts=dict(counts),
        eaten=sum(judged),
        fed=len(judged),
    )
