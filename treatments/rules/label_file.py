"""Reading and writing a label file: every mistake with the row and field it stands in."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from accounts.refusals import Refused
from sites.rules.units import plain
from treatments.rules.label_entry import (
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    NewProduct,
    NewProtection,
)
from treatments.rules.label_refusals import (
    refuse_direction,
    refuse_facts,
    refuse_limit,
    refuse_limit_kind,
    refuse_product,
    refuse_protection,
    refuse_without_ingredient,
)
from treatments.rules.label_schema import DAY, FORMAT, SCHEMA, TEXT

MOST_BYTES = 1_000_000
MOST_MISTAKES = 50
VALIDATOR = Draft202012Validator(SCHEMA)
DAYS = ("label_date", "effective_on", "safety_sheet_date")
DECIMALS = (
    "rate_min",
    "rate_max",
    "per_gallon",
    "gallons_per_1000",
    "min_gallons_per_1000",
    "max_gallons_per_1000",
    "percent_by_weight",
    "pounds_per_gallon",
    "limit",
)


class FileRefused(Refused):
    """A label file that cannot be read; `mistakes` are its rows and fields, each a sentence."""

    def __init__(self, mistakes: list[str]) -> None:
        more = f" and {len(mistakes) - 1} more" if len(mistakes) > 1 else ""
        super().__init__("label_file", f"{mistakes[0]}{more}", mistakes=mistakes)
        self.mistakes = mistakes


def parse(raw: bytes) -> dict[str, Any]:
    """The document of a file; refused with row-precise mistakes when its shape is wrong."""
    if len(raw) > MOST_BYTES:
        raise FileRefused(["The file is above 1 MB; no label is that long."])
    try:
        document = json.loads(raw)
    except (ValueError, RecursionError) as error:
        where = f" (line {error.lineno})" if isinstance(error, json.JSONDecodeError) else ""
        raise FileRefused([f"The file is not JSON{where}."]) from error
    mistakes = sorted(_shape_mistakes(document))
    if mistakes:
        raise FileRefused(mistakes[:MOST_MISTAKES])
    found: dict[str, Any] = document
    return found


def _shape_mistakes(document: object) -> Iterator[str]:
    for error in VALIDATOR.iter_errors(document):
        yield f"{_path(error)}: {_words(error)}"


def _path(error: ValidationError) -> str:
    """directions[2].rate_max; rows are counted from 0."""
    parts = [f"[{part}]" if isinstance(part, int) else f".{part}" for part in error.absolute_path]
    if error.validator == "required":
        missing = next(n for n in error.validator_value if n not in error.instance)
        parts.append(f".{missing}")
    return "".join(parts).lstrip(".") or "the file"


SHORT_WORDS = {
    "required": "is missing.",
    "minLength": "must not be empty.",
    "minItems": "must not be empty.",
}


def _words(error: ValidationError) -> str:
    known = error.validator_value
    match error.validator:
        case "enum":
            return f"is not one of {', '.join(str(word) or 'nothing' for word in known)}."
        case "const":
            return f'must be "{known}".'
        case "type":
            return f"must be {' or '.join([known] if isinstance(known, str) else known)}."
        case "pattern":
            return _pattern_words(known)
        case "additionalProperties":
            extra = sorted(set(error.instance) - set(error.schema["properties"]))
            return f"has fields nobody knows here: {', '.join(extra)[:200]}."
    return SHORT_WORDS.get(str(error.validator), f"is beyond {known}.")


def _pattern_words(known: str) -> str:
    if known == DAY["pattern"]:
        return "must be a day like 2026-02-01."
    if known == TEXT:
        return "holds characters that are not text."
    return 'must be a number written as text, like "0.5", with no more digits than fit.'


def read(document: dict[str, Any], pest_ids: Mapping[str, int]) -> tuple[NewProduct, NewLabel]:
    """Product and label (of product 0) of a parsed document.

    `pest_ids` by common name in lower case. Refused with every mistake: a day that is not in the
    calendar, an unknown pest, a row that cannot stand on a label.
    """
    mistakes: list[str] = []
    product = _product(document["product"])
    label = _label(document, pest_ids, mistakes)
    checks = _checks(product, label) if not mistakes else iter(())
    for path, check, row in checks:
        try:
            check(row)
        except Refused as refused:
            field = refused.facts.get("field")
            mistakes.append(f"{path}.{field}: {refused.sentence}" if field else _at(path, refused))
    if mistakes:
        raise FileRefused(mistakes[:MOST_MISTAKES])
    return product, label


def _at(path: str, refused: Refused) -> str:
    return f"{path}: {refused.sentence}"


def _checks(product: NewProduct, label: NewLabel) -> Iterator[tuple[str, Any, Any]]:
    yield "product", refuse_product, product
    yield "product", _with_ingredient, product
    yield "label", refuse_facts, label
    for number, direction in enumerate(label.directions):
        yield f"directions[{number}]", _once(label, number), direction
        yield f"directions[{number}]", refuse_direction, direction
    titles = {direction.title for direction in label.directions}
    for number, limit in enumerate(label.limits):
        yield f"limits[{number}]", lambda one: refuse_limit(one, titles), limit
        yield f"limits[{number}]", lambda one: refuse_limit_kind(one, label.directions), limit
    for number, protection in enumerate(label.protections):
        yield f"protections[{number}]", refuse_protection, protection


def _with_ingredient(product: NewProduct) -> None:
    refuse_without_ingredient(product.registration_kind, len(product.ingredients))


def _once(label: NewLabel, number: int) -> Any:
    def check(direction: NewDirection) -> None:
        before = {one.title.strip() for one in label.directions[:number]}
        if direction.title.strip() in before:
            sentence = "Another direction has that title. Give each its own."
            raise Refused("label", sentence, field="title")

    return check


def _product(given: dict[str, Any]) -> NewProduct:
    rows = tuple(NewIngredient(**_exact(row)) for row in given["ingredients"])
    return NewProduct(**{**given, "ingredients": rows})


def _label(document: dict[str, Any], pest_ids: Mapping[str, int], mistakes: list[str]) -> NewLabel:
    facts = dict(document["label"])
    for name in DAYS:
        facts[name] = _day(facts.get(name), f"label.{name}", mistakes)
    directions = tuple(
        _direction(row, f"directions[{number}]", pest_ids, mistakes)
        for number, row in enumerate(document["directions"])
    )
    return NewLabel(
        **{**facts, "prohibited_methods": tuple(facts.get("prohibited_methods", ()))},
        product_id=0,
        directions=directions,
        limits=tuple(NewLimit(**_exact(row)) for row in document.get("limits", ())),
        protections=tuple(
            NewProtection(**row | {"respirators": tuple(row.get("respirators", ()))})
            for row in document.get("protections", ())
        ),
    )


def _direction(
    row: dict[str, Any], path: str, pest_ids: Mapping[str, int], mistakes: list[str]
) -> NewDirection:
    facts = _exact(row)
    names = facts.pop("pests")
    for number, name in enumerate(names):
        if name.casefold() not in pest_ids:
            mistakes.append(f"{path}.pests[{number}]: There is no pest {name[:60]!r} here.")
    found = {pest_ids.get(name.casefold(), 0) for name in names}
    facts |= {"places": tuple(facts["places"]), "methods": tuple(facts["methods"])}
    return NewDirection(**facts, pest_ids=tuple(sorted(found)))


def _exact(row: dict[str, Any]) -> dict[str, Any]:
    """The row with its numbers as decimals."""
    return {
        name: Decimal(value) if name in DECIMALS and value is not None else value
        for name, value in row.items()
    }


def _day(text: str | None, path: str, mistakes: list[str]) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        mistakes.append(f"{path}: There is no such day in the calendar.")
        return None


def write(product: NewProduct, label: NewLabel, pest_names: Mapping[int, str]) -> dict[str, Any]:
    """The document of a product's label; numbers as text, days as 2026-02-01."""
    facts = _written(asdict(label))
    directions = facts.pop("directions")
    for row in directions:
        row["pests"] = sorted(pest_names[pk] for pk in row.pop("pest_ids"))
    limits, protections = facts.pop("limits"), facts.pop("protections")
    del facts["product_id"]
    return {
        "format": FORMAT,
        "product": _written(asdict(product)),
        "label": facts,
        "directions": directions,
        "limits": limits,
        "protections": protections,
    }


def _written(value: Any) -> Any:
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {name: _written(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_written(one) for one in value]
    return value
