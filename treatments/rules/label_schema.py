"""The shape of a label file: our own format, as a JSON Schema (draft 2020-12)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sites.rules.places import Place
from sites.rules.units import KINDS
from treatments.rules.label_entry import FACTS_WITH_PAGE
from treatments.rules.products import (
    LABEL_METHODS,
    Comparison,
    Formulation,
    LimitFact,
    MixBasis,
    RateBasis,
    RegistrationKind,
    Severity,
    SignalWord,
    Task,
)
from treatments.rules.protective_equipment import RESPIRATOR_WORDS

FORMAT = "eaveline-label/1"
# no control characters, no halves of a character: every database can keep the rest
TEXT = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\ud800-\udfff]*$"
DAY = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}
DAYS = {"type": ["integer", "null"], "minimum": 0, "maximum": 100_000}
FLAG = {"type": "boolean"}

Schema = dict[str, Any]


def text(most: int, *, least: int = 0) -> Schema:
    """A text of so many characters."""
    return {"type": "string", "minLength": least, "maxLength": most, "pattern": TEXT}


def decimal(whole: int, places: int) -> Schema:
    """A number written as text, so that no digit is lost."""
    return {"type": "string", "pattern": rf"^\d{{1,{whole}}}(\.\d{{1,{places}}})?$"}


def one_of(words: Iterable[str]) -> Schema:
    """One of some words."""
    return {"enum": [str(word) for word in words]}


def several(item: Schema, *, most: int, least: int = 0) -> Schema:
    """A list of rows or words."""
    return {"type": "array", "items": item, "minItems": least, "maxItems": most}


def or_none(schema: Schema) -> Schema:
    """The same, or null where the label does not say."""
    return {**schema, "type": [schema["type"], "null"]}


def row(optional: Iterable[str] = (), **properties: Schema) -> Schema:
    """An object of exactly these fields; `optional` ones may be left out."""
    required = [name for name in properties if name not in set(optional)]
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


PAGE = text(20, least=1)
INGREDIENT = row(
    ("pounds_per_gallon", "irac_group", "irac_scheme"),
    common_name=text(80, least=1),
    percent_by_weight=decimal(3, 5),
    pounds_per_gallon=or_none(decimal(3, 6)),
    irac_group=text(8),
    irac_scheme=text(8),
)
PRODUCT = row(
    ("registration_number", "establishment_number"),
    name=text(120, least=1),
    registration_kind=one_of(RegistrationKind),
    registration_number=text(40),
    establishment_number=text(40),
    formulation=one_of(Formulation),
    signal_word=one_of(SignalWord),
    is_restricted_use=FLAG,
    ingredients=several(INGREDIENT, most=20),
)
LABEL = row(
    (
        "reentry_minutes",
        "only_listed_uses",
        "prohibited_methods",
        "safety_sheet_date",
        "first_aid",
        "storage_and_disposal",
        "pages",
    ),
    label_date=DAY,
    effective_on=DAY,
    safety_sheet_date=or_none(DAY),
    protective_equipment=text(6000, least=1),
    reentry_text=text(6000, least=1),
    reentry_minutes=DAYS,
    precautions=text(6000, least=1),
    first_aid=text(6000),
    storage_and_disposal=text(6000),
    only_listed_uses=FLAG,
    prohibited_methods=several(one_of(LABEL_METHODS), most=20),
    pages=row(FACTS_WITH_PAGE, **dict.fromkeys(FACTS_WITH_PAGE, PAGE)),
)
DIRECTION = row(
    (
        "rate_min",
        "per_gallon",
        "mix_basis",
        "gallons_per_1000",
        "min_gallons_per_1000",
        "max_gallons_per_1000",
        "residual_days",
        "min_interval_days",
        "uses_per_year",
    ),
    title=text(120, least=1),
    places=several(one_of(Place), most=20, least=1),
    methods=several(one_of(LABEL_METHODS), most=20, least=1),
    pests=several(text(80, least=1), most=500),
    rate_basis=one_of(RateBasis),
    rate_min=or_none(decimal(6, 6)),
    rate_max=decimal(6, 6),
    rate_unit=one_of(KINDS),
    per_gallon=or_none(decimal(6, 6)),
    mix_basis=one_of(MixBasis),
    gallons_per_1000=or_none(decimal(5, 4)),
    min_gallons_per_1000=or_none(decimal(5, 4)),
    max_gallons_per_1000=or_none(decimal(5, 4)),
    residual_days=DAYS,
    min_interval_days={**DAYS, "type": "integer"},
    uses_per_year=DAYS,
    page=PAGE,
)
LIMIT = row(
    ("direction", "unit", "named"),
    fact=one_of(LimitFact),
    comparison=one_of(Comparison),
    limit=decimal(8, 4),
    unit=one_of(("", *KINDS)),
    severity=one_of(Severity),
    sentence=text(300, least=1),
    direction=text(120),
    named=text(80),
    page=PAGE,
)
PROTECTION = row(
    ("respirators",),
    task=one_of(Task),
    item=text(120, least=1),
    page=PAGE,
    respirators=several(one_of(RESPIRATOR_WORDS), most=len(RESPIRATOR_WORDS)),
)
SCHEMA: Schema = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "One dated label of one product",
    **row(
        ("limits", "protections"),
        format={"const": FORMAT},
        product=PRODUCT,
        label=LABEL,
        directions=several(DIRECTION, most=500, least=1),
        limits=several(LIMIT, most=500),
        protections=several(PROTECTION, most=100),
    ),
}
