"""One standing entry as the checks read it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal


@dataclass(frozen=True)
class Said:
    """One judgement of an entry: code, severity, sentence."""

    code: str
    severity: str
    sentence: str


@dataclass(frozen=True)
class Strength:
    """Undiluted product and finished spray of a load, whole units (uL or mg, and uL)."""

    product: int
    finished_ul: int


@dataclass(frozen=True)
class RecordFacts:
    """What the checks ask of one entry.

    `about` names product and day; `kind` and `number` are those frozen in the entry,
    `product_number` that of the product table; `basis` what the label's rate counts on; amounts
    in whole uL or mg; `names` are the names of people in it, by what they are.
    """

    about: str
    kind: str = ""
    number: str = ""
    product_number: str = ""
    is_restricted: bool = False
    basis: str = ""
    has_amount: bool = False
    has_finished: bool = False
    product_ul: int | None = None
    product_mg: int | None = None
    finished_ul: int | None = None
    area_mm2: int = 0
    length_mm: int = 0
    load: Strength | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    judged: tuple[Said, ...] = ()


@dataclass(frozen=True)
class Job:
    """When and where one entry says its applicator worked; no position where none is known."""

    pk: int
    person_id: int
    property_id: int
    started_at: datetime
    finished_at: datetime
    latitude: Decimal | None = None
    longitude: Decimal | None = None
