"""What the inspection desk answers, in words: ready for a page and for paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

HANDED_OVER_KIND = "handed_over"


@dataclass(frozen=True)
class DeskVersion:
    """One entry in the history of a record."""

    number: int
    word: str
    at: datetime
    by: str
    approved_by: str
    reason: str
    changes: tuple[str, ...]


@dataclass(frozen=True)
class DeskRecord:
    """The last entry of one record with its history, findings and place in the log.

    `facts` are named values; `weather` is as it was written down, empty where nothing was.
    """

    pk: int
    applied_on: date
    times: str
    is_void: bool
    what: str
    registration_number: str
    amount: str
    where: str
    customer: str
    applicator: str
    license: str
    weather: str
    facts: tuple[tuple[str, str], ...]
    judged: tuple[tuple[str, str, str, str], ...]
    versions: tuple[DeskVersion, ...]
    leaf: int | None
    leaf_hash: str


@dataclass(frozen=True)
class DeskList:
    """One list of the answer: what it counts, its rows, and what is not there."""

    key: str
    title: str
    said: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def labeled(self) -> tuple[tuple[tuple[str, str], ...], ...]:
        """Each row as its cells with their headings, for a sheet that stacks them."""
        return tuple(tuple(zip(self.head, row, strict=True)) for row in self.rows)


@dataclass(frozen=True)
class DeskFile:
    """A paper of a label that is kept here, for handing over by itself."""

    label_id: int
    kind: str
    words: str
    name: str
    sha256: str


@dataclass(frozen=True)
class DeskProof:
    """The end of the log that the records stand in, as it was signed last."""

    branch_name: str
    size: int
    signed_size: int
    signed_at: datetime | None
    signed_root: str
    key: str
    differences: tuple[str, ...] = ()


@dataclass(frozen=True)
class DeskAnswer:
    """Everything about one question, as of a moment on the clock of the branch."""

    question: str
    notes: tuple[str, ...]
    as_of: datetime
    branch_name: str
    business_license: str
    records: Sequence[DeskRecord]
    lists: tuple[DeskList, ...]
    files: tuple[DeskFile, ...]
    proof: DeskProof | None
    not_here: tuple[str, ...]
    demo: bool = False

    @property
    def in_force(self) -> int:
        """How many records count."""
        return sum(not one.is_void for one in self.records)

    @property
    def voided(self) -> int:
        return sum(one.is_void for one in self.records)

    @property
    def with_history(self) -> int:
        """How many records have more than one version."""
        return sum(len(one.versions) > 1 for one in self.records)

    @property
    def missing(self) -> tuple[str, ...]:
        """Every sentence about what is not there, in the order of the lists."""
        return tuple(sentence for one in self.lists for sentence in one.missing)


def counted(number: int, one: str, many: str = "") -> str:
    """1 record, 2 records."""
    return f"{number:,} {one if number == 1 else many or f'{one}s'}"
