"""Which entry of a record counts (DEVELOPERS.md, "A correction is a whole row").

A record is followed by at most one entry, that one by at most one, and so on. Addendum and
correction are whole records that take the place of the entry they follow; a void takes its place
and counts nowhere. So the last entry counts, unless it is a void.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

LATE_AFTER = timedelta(days=14)  # house rule, where no rule says until when


class EntryKind(StrEnum):
    """What one row is in the history of a record."""

    RECORD = "record"
    ADDENDUM = "addendum"
    CORRECTION = "correction"
    VOID = "void"

    @property
    def past(self) -> str:
        """corrected, voided: what became of the entry it follows."""
        return ENTRY_WORDS[self].lower()


ENTRY_WORDS = {
    EntryKind.RECORD: "Recorded",
    EntryKind.ADDENDUM: "Completed",
    EntryKind.CORRECTION: "Corrected",
    EntryKind.VOID: "Voided",
}


@dataclass(frozen=True)
class Link:
    """One entry: its key, its kind, and the key of the entry it follows (None: the first)."""

    key: int
    kind: EntryKind
    follows: int | None = None


def chain_of(links: Iterable[Link], key: int) -> tuple[Link, ...]:
    """The history that holds an entry, the first entry first.

    ValueError: an entry that two others follow, or a circle; both cannot be stored.
    """
    by_key = {one.key: one for one in links}
    later: dict[int, Link] = {}
    for one in by_key.values():
        if one.follows is None:
            continue
        if one.follows in later:
            raise ValueError(f"entry {one.follows} is followed twice")
        later[one.follows] = one
    return _forward(_first(by_key, key), later)


def _first(by_key: dict[int, Link], key: int) -> Link:
    link, seen = by_key[key], {key}
    while link.follows is not None and link.follows in by_key:
        if link.follows in seen:
            raise ValueError(f"entry {key} follows itself")
        seen.add(link.follows)
        link = by_key[link.follows]
    return link


def _forward(first: Link, later: dict[int, Link]) -> tuple[Link, ...]:
    chain = [first]
    while chain[-1].key in later:
        chain.append(later[chain[-1].key])
    return tuple(chain)


def in_force(chain: tuple[Link, ...]) -> Link | None:
    """The entry that counts; None for a record that was voided."""
    last = chain[-1]
    return None if last.kind is EntryKind.VOID else last


def effective_keys(links: Iterable[Link]) -> set[int]:
    """The keys of every entry that counts: followed by none and no void."""
    every = list(links)
    followed = {one.follows for one in every}
    return {one.key for one in every if one.key not in followed and one.kind is not EntryKind.VOID}


def is_late(applied_on: date, entered_at: datetime, complete_by: datetime | None = None) -> bool:
    """Whether an entry was made after the deadline of its rules, else two weeks after the work."""
    if complete_by is not None:
        return entered_at > complete_by
    return entered_at.date() - applied_on > LATE_AFTER
