"""Which records may forget their personal values: past every term, without a hold, whole chains.

An entry that corrects or completes another one is kept as long as it: a chain of entries is
forgotten together or not at all (house rule, the longer reading).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from treatments.rules.retention import FIRM_DEFAULT_YEARS, add_years, never_shorter

RULE = (
    "kept until the last day of every rule of the record; past it, without a hold, its personal "
    "values are deleted"
)


class Anchor(StrEnum):
    """The day a rule's years are counted from."""

    APPLICATION_DATE = "application_date"
    RECORD_CREATED = "record_created"
    CALENDAR_YEAR_END = "calendar_year_end"
    AGREEMENT_END = "agreement_end"


# Anchors of the rules read, by code (reference/jurisdictions.json): every other code of it counts
# from the day of the work. A code that is not here has an anchor nobody knows.
ANCHORS: Mapping[str, Anchor] = {
    **dict.fromkeys(
        (
            "US-FED", "US-CA-DPR", "US-CA-SPCB", "US-TX", "US-NJ", "US-GA-40", "US-NC-09L", "US-OH",
            "US-PA", "US-WA", "US-OR", "US-MA", "US-IL", "US-MN", "US-WI", "US-CO", "US-NM",
            "US-ID", "US-ME", "US-AZ", "EU-67",
        ),
        Anchor.APPLICATION_DATE,
    ),
    **dict.fromkeys(("US-FL", "US-GA-620", "US-MD"), Anchor.RECORD_CREATED),
    "US-NY": Anchor.CALENDAR_YEAR_END,
    "US-NC-34": Anchor.AGREEMENT_END,
}  # fmt: skip
COUNTED = frozenset({Anchor.APPLICATION_DATE, Anchor.RECORD_CREATED, Anchor.CALENDAR_YEAR_END})


@dataclass(frozen=True)
class Kept:
    """One entry: when it was, what it follows, until when it is kept, whether a hold stands.

    `codes` name the rules it was recorded under, as the record keeps them.
    """

    pk: int
    applied_on: date
    recorded_on: date
    retain_until: date
    corrects: int | None = None
    is_held: bool = False
    codes: tuple[str, ...] = ()


def last_day(kept: Kept) -> date:
    """The last day an entry is kept: what it was promised, and never less than its rules.

    A rule whose anchor is not known keeps it for the firm's longest from the later of work and
    record; 7.5 of reference/regulations.md, the longer reading.
    """
    if all(anchor_of(code) in COUNTED for code in kept.codes):
        return kept.retain_until
    later = add_years(max(kept.applied_on, kept.recorded_on), FIRM_DEFAULT_YEARS)
    return never_shorter(kept.retain_until, later) or later


def anchor_of(code: str) -> Anchor | None:
    """The anchor of a rule by its code, with or without a version behind a slash."""
    return ANCHORS.get(code.partition("/")[0])


def forgettable(entries: Iterable[Kept], before: date) -> frozenset[int]:
    """The entries whose last day, and that of their whole chain, lies before a day, unheld."""
    rows = list(entries)
    chains: defaultdict[int, list[Kept]] = defaultdict(list)
    follows = {row.pk: row.corrects for row in rows}
    for row in rows:
        chains[_root(row.pk, follows)].append(row)
    return frozenset(
        row.pk
        for chain in chains.values()
        if all(last_day(one) < before and not one.is_held for one in chain)
        for row in chain
    )


def _root(pk: int, follows: Mapping[int, int | None]) -> int:
    seen = {pk}
    while (older := follows.get(pk)) is not None and older not in seen:
        seen.add(older)
        pk = older
    return pk
