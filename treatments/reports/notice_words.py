"""What a notice after treatment says, in words, without a way to draw it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Firm:
    """Who did the work, and where to call."""

    name: str
    address: str
    license_number: str
    phone: str
    after_hours: str = ""


@dataclass(frozen=True)
class Applicator:
    """Who put it down: full name without titles, license as of the day, who supervised."""

    name: str
    license_number: str
    license_kind: str
    supervisor: str = ""


@dataclass(frozen=True)
class NoticeRecord:
    """One product as it was used, every value in words; without a product it is the work done.

    `loads` names each load of a treatment made from several; amounts are then of all of them.
    """

    product: str
    registration_number: str
    signal_word: str
    ingredients: str
    amount: str
    finished: str
    area: str
    zones: str
    places: str
    method: str
    pests: str
    times: str
    applicator: Applicator
    reentry: str = ""
    precautions: str = ""
    loads: tuple[str, ...] = ()
    done: str = ""


@dataclass(frozen=True)
class NotTreated:
    """A place that was left out, and why."""

    place: str
    why: str


@dataclass(frozen=True)
class ToDo:
    """Something the customer has to do, and by when."""

    what: str
    by: str


@dataclass(frozen=True)
class Notice:
    """Everything the sheet says; `demo` marks every page.

    `corrected_on` is set on a copy that takes the place of an earlier one.
    """

    firm: Firm
    customer: str
    address: str
    treated_on: date
    records: tuple[NoticeRecord, ...]
    not_treated: tuple[NotTreated, ...] = ()
    to_do: tuple[ToDo, ...] = ()
    demo: bool = False
    corrected_on: date | None = None
