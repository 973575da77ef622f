"""Label files: what is written is read back the same, every mistake has its row."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from sites.rules.places import Place
from treatments.rules.label_entry import (
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    NewProduct,
    NewProtection,
)
from treatments.rules.label_file import FileRefused, parse, read, write
from treatments.rules.label_lines import compare, lines
from treatments.rules.label_schema import SCHEMA
from treatments.rules.products import LABEL_METHODS, RateBasis

PESTS = {1: "House ant", 2: "Boxelder bug"}
IDS = {name.casefold(): pk for pk, name in PESTS.items()}
PRODUCT = NewProduct(
    "Demonstration A SC",
    "section3",
    "sc",
    "99999-101",
    ingredients=(NewIngredient("demothrin", Decimal("7.9"), Decimal("0.666667"), "3A", "11.3"),),
)
DIRECTION = NewDirection(
    title="Outside band",
    places=("foundation_wall",),
    methods=("perimeter_band",),
    pest_ids=(1, 2),
    rate_max=Decimal("0.8"),
    rate_unit="fl_oz",
    page="p. 4",
    rate_min=Decimal("0.4"),
    gallons_per_1000=Decimal(1),
)
LIMIT = NewLimit("wind", "at_most", Decimal(10), "refuse", "Not above 10 mph.", "p. 6")
# one row of each kind a label has: reference/trade.md 2.1
MORE = (
    NewLimit("high_rate_only", "required", Decimal(0), "refuse", "Heavy infestations.", "p. 7"),
    NewLimit("agitation", "required", Decimal(0), "note", "Agitate.", "p. 6"),
    NewLimit("water_ph", "at_most", Decimal(7), "warn", "pH 7 or below.", "p. 6"),
    NewLimit("tank_mix", "forbidden", Decimal(0), "refuse", "Not with it.", "p. 6", named="Oil"),
    NewLimit("run_off", "forbidden", Decimal(0), "refuse", "Not to run-off.", "p. 7"),
    NewLimit("watered_in_depth", "at_least", Decimal("0.25"), "warn", "A quarter inch.", "p. 7"),
    NewLimit("watered_in_hours", "at_most", Decimal(24), "warn", "Within a day.", "p. 7"),
    NewLimit("surface_share", "at_most", Decimal(20), "refuse", "A fifth.", "p. 8"),
    NewLimit("vacant_only", "required", Decimal(0), "refuse", "Unoccupied only.", "p. 8"),
    NewLimit("school", "forbidden", Decimal(0), "refuse", "Not in schools.", "p. 8"),
    NewLimit("rotation", "required", Decimal(0), "note", "Rotate.", "p. 3"),
    NewLimit("license_category", "required", Decimal(0), "warn", "7B.", "p. 1", named="7B"),
)
LABEL = NewLabel(
    product_id=0,
    label_date=date(2026, 2, 1),
    effective_on=date(2026, 3, 1),
    protective_equipment="Gloves.",
    reentry_text="Keep off until dry.",
    precautions="Toxic to fish.",
    directions=(DIRECTION,),
    limits=(LIMIT, *MORE),
    protections=(NewProtection("apply", "Gloves", "p. 2"),),
    pages={"precautions": "p. 1"},
)

words = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\x00"), min_size=1
).filter(str.strip)
rates = st.decimals("0.000001", "999999", places=6)
directions = st.builds(
    NewDirection,
    title=words.map(lambda text: text.strip()[:100]),
    places=st.lists(st.sampled_from(list(Place)), min_size=1, unique=True).map(tuple),
    methods=st.lists(st.sampled_from(LABEL_METHODS), min_size=1, unique=True).map(tuple),
    pest_ids=st.sampled_from([(), (1,), (2,), (1, 2)]),
    rate_max=rates,
    rate_unit=st.sampled_from(["fl_oz", "mL", "lb", "each"]),
    rate_basis=st.sampled_from([RateBasis.AREA, RateBasis.LINEAR, RateBasis.COUNT]),
    page=st.just("p. 4"),
    residual_days=st.none() | st.integers(0, 3650),
    min_interval_days=st.integers(0, 3650),
    uses_per_year=st.none() | st.integers(1, 366),
    gallons_per_1000=st.none() | st.decimals("0.0001", "99999", places=4),
)


def labels(rows: list[NewDirection]) -> NewLabel:
    """The label with these directions."""
    limits = tuple(one for one in LABEL.limits if one.fact != "high_rate_only")
    return NewLabel(**{**vars(LABEL), "directions": tuple(rows), "limits": limits})


@given(
    st.lists(directions, min_size=1, max_size=5, unique_by=lambda one: one.title).map(labels),
    words,
)
def test_what_is_written_is_read_back_the_same(label: NewLabel, name: str) -> None:
    product = NewProduct(**{**vars(PRODUCT), "name": name[:120]})
    raw = json.dumps(write(product, label, PESTS)).encode()
    assert read(parse(raw), IDS) == (product, label)


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def spoiled(change: Callable[[dict[str, Any]], object]) -> list[str]:
    """The mistakes of a good file after one change."""
    document = copy.deepcopy(write(PRODUCT, LABEL, PESTS))
    change(document)
    with pytest.raises(FileRefused) as refused:
        read(parse(json.dumps(document).encode()), IDS)
    return refused.value.mistakes


@pytest.mark.parametrize(
    ("change", "mistake"),
    [
        (lambda d: d["directions"][0].update(rate_max="much"), "directions[0].rate_max: must be a"),
        (lambda d: d["directions"][0].update(rate_max=0.5), "directions[0].rate_max: must be str"),
        (lambda d: d["directions"][0].update(rate_max="0"), "directions[0].rate_max: The rate of"),
        (lambda d: d["directions"][0].update(rate_min="2"), "directions[0].rate_min: The lowest"),
        (
            lambda d: d["directions"][0].update(rate_min=None),
            "limits[1].direction: A high rate needs a lowest rate below it.",
        ),
        (lambda d: d["limits"][3].update(limit="15"), "limits[3].limit: pH of the water"),
        (lambda d: d["limits"][8].update(limit="101"), "limits[8].limit: Treated part of a"),
        (lambda d: d["limits"][12].update(named=""), "limits[12].named: Say which category"),
        (lambda d: d["limits"][0].update(named="Oil"), "limits[0].named: This limit names nothing"),
        (lambda d: d["limits"][5].update(comparison="at_most"), "limits[5].comparison: On a label"),
        (lambda d: d["directions"][0].pop("page"), "directions[0].page: is missing"),
        (lambda d: d["directions"][0].update(places=[]), "directions[0].places: must not be empty"),
        (
            lambda d: d["directions"][0].update(places=["moon"]),
            "directions[0].places[0]: is not one",
        ),
        (
            lambda d: d["directions"][0].update(pests=["House ant", "Moon bug"]),
            "directions[0].pests[1]: There is no pest 'Moon bug'",
        ),
        (
            lambda d: d["directions"][0].update(gallons_per_1000="0"),
            "directions[0].gallons_per_1000: Gallons on 1,000 sq ft",
        ),
        (lambda d: d["directions"].append(d["directions"][0]), "directions[1].title: Another"),
        (lambda d: d["directions"].clear(), "directions: must not be empty"),
        (lambda d: d["limits"][0].update(direction="No"), "limits[0].direction: There is no dir"),
        (lambda d: d["limits"][0].update(fact="moon"), "limits[0].fact: is not one of height_up"),
        (lambda d: d["protections"][0].update(item=" "), "protections[0].item: Protective"),
        (lambda d: d["label"].update(effective_on="2026-02-30"), "label.effective_on: There is no"),
        (lambda d: d["label"].update(effective_on="soon"), "label.effective_on: must be a day"),
        (lambda d: d["label"].update(precautions="a\x00b"), "label.precautions: holds characters"),
        (lambda d: d["label"].update(moon=1), "label: has fields nobody knows here: moon"),
        (lambda d: d["product"].update(ingredients=[]), "product.ingredients: A product needs"),
        (lambda d: d.update(format="other/1"), 'format: must be "eaveline-label/1"'),
    ],
)
def test_every_mistake_has_its_row_and_field(
    change: Callable[[dict[str, Any]], object], mistake: str
) -> None:
    assert spoiled(change)[0].startswith(mistake)


def test_every_mistake_is_listed() -> None:
    def change(document: dict[str, Any]) -> None:
        document["directions"][0]["per_gallon"] = "0"
        document["limits"][0]["direction"] = "No"

    assert len(spoiled(change)) == 2


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "is not JSON"),
        (b"{\n,", "line 2"),
        (b"\xff\xfe\x00", "is not JSON"),
        (b"[" * 100_000, "is not JSON"),
        (b"[]", "the file: must be object"),
        (b" " * 1_000_001, "above 1 MB"),
    ],
)
def test_what_is_no_label_file_is_refused(raw: bytes, words: str) -> None:
    with pytest.raises(FileRefused, match=words):
        parse(raw)


def test_the_rows_stand_on_the_page_and_in_a_comparison() -> None:
    """What is entered is read on the label's page, verified there and compared by version."""
    shown = [line for line in lines(LABEL, PESTS) if line.part == "Limits"]
    assert len(shown) == len(LABEL.limits)
    (mix,) = [line for line in shown if line.name == "Tank mix with other products: Oil"]
    assert (mix.words, mix.page) == ("Not allowed. Not with it.", "p. 6")
    (water,) = [line for line in shown if line.name == "pH of the water"]
    assert (water.words, water.page) == ("At most 7. pH 7 or below.", "p. 6")
    newer = replace(LABEL, limits=(LABEL.limits[0], replace(MORE[2], limit=Decimal(6))))
    changes = compare(lines(LABEL, PESTS), lines(newer, PESTS))
    kinds = {one.name: one.kind for one in changes if one.part == "Limits"}
    assert (
        kinds["pH of the water"] == "changed" and kinds["Rotation against resistance"] == "removed"
    )
