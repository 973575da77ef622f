"""What an inspection bundle holds, and what it was asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from treatments.rules.signed_heads import Head

VOID = "void"
BUNDLE_KIND = "bundle"
BUNDLE_FORMAT = "eaveline-bundle/1"


@dataclass(frozen=True)
class BundleScope:
    """Records applied from one day to another, narrowed further by what is given.

    `property_ids` are those of a customer or around a place; `hours` from and to on the clock of
    the branch. No name of a person and no address: this stands in the log.
    """

    since: date
    until: date
    branch_id: int | None = None
    person_id: int | None = None
    property_id: int | None = None
    product: str = ""
    lot: str = ""
    property_ids: tuple[int, ...] | None = None
    hours: tuple[time, time] | None = None

    def plain(self) -> dict[str, object]:
        """What is given, in text and whole numbers."""
        given = {name: value for name, value in asdict(self).items() if value}
        if self.property_ids is not None:
            given["property_ids"] = list(self.property_ids)
        if self.hours:
            given["hours"] = [f"{at:%H:%M}" for at in self.hours]
        days = {"since": self.since.isoformat(), "until": self.until.isoformat()}
        return {**given, **days}


def within_hours(started: datetime, finished: datetime, hours: tuple[time, time]) -> bool:
    """Whether work touched these hours of one of its days; all on the clock of the branch."""
    days = (finished.date() - started.date()).days
    for day in (started.date() + timedelta(days=number) for number in range(days + 1)):
        opens, closes = (datetime.combine(day, at, started.tzinfo) for at in hours)
        if started <= closes and finished >= opens:
            return True
    return False


@dataclass(frozen=True)
class BundleLog:
    """One branch's log as the bundle ends it: its last head and the name of the branch."""

    branch_name: str
    head: Head


@dataclass(frozen=True)
class BundleHead:
    """A signed head and the proof that it is a beginning of the last one."""

    head: Head
    proof: Sequence[bytes]


@dataclass(frozen=True)
class BundleLeaf:
    """A leaf with the proof that it stands in the log of the last head."""

    branch: int
    seq: int
    leaf: bytes
    proof: Sequence[bytes]


@dataclass(frozen=True)
class BundleRecord:
    """A record as its leaf says it, with its own personal values and their salts (in hex)."""

    branch: int
    seq: int
    record_id: int
    said: Mapping[str, Any]
    personal: Mapping[str, Mapping[str, str]]
    in_force: bool = True

    @property
    def follows(self) -> int | None:
        """The record whose place this entry takes."""
        return _record_of(self.said).get("corrects_id")

    @property
    def standing(self) -> str:
        """In force, voided, or a version that a later one took the place of."""
        if self.in_force:
            return "in force"
        return "voided" if _record_of(self.said).get("entry") == VOID else "an earlier version"

    def plain(self) -> dict[str, object]:
        """The record as one line of JSON."""
        return asdict(self)


def _record_of(said: Mapping[str, Any]) -> Mapping[str, Any]:
    found = said.get("record")
    return found if isinstance(found, Mapping) else {}


def with_standing(records: Sequence[BundleRecord]) -> list[BundleRecord]:
    """The records with what counts: what nothing follows and what is no void."""
    followed = {one.follows for one in records}
    return [
        replace(one, in_force=one.record_id not in followed and _entry(one) != VOID)
        for one in records
    ]


def _entry(record: BundleRecord) -> object:
    return _record_of(record.said).get("entry")


def folded(records: Sequence[BundleRecord]) -> list[BundleRecord]:
    """Each history together, what counts first and every version before it after that."""
    known = {one.record_id: one for one in records}
    chains: dict[int, list[BundleRecord]] = {}
    for one in records:
        first = one
        while first.follows in known and known[first.follows].seq < first.seq:
            first = known[first.follows]
        chains.setdefault(first.record_id, []).append(one)
    return [one for chain in chains.values() for one in sorted(chain, key=lambda two: -two.seq)]


@dataclass(frozen=True)
class Bundle:
    """Everything that is handed over."""

    scope: BundleScope
    scope_words: str
    as_of: datetime
    firm: str
    logs: Sequence[BundleLog]
    heads: Sequence[BundleHead]
    leaves: Sequence[BundleLeaf]
    records: Sequence[BundleRecord]
    differences: Sequence[str]
    demo: bool = False
