"""What an inspection bundle holds, and what it was asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from treatments.rules.signed_heads import Head

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

    def plain(self) -> dict[str, object]:
        """The record as one line of JSON."""
        return asdict(self)


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
