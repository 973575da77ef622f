"""Which factor counts on a zone, and that none ever lengthens a claim."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from treatments.rules.residual import rain_factor, window, window_days
from treatments.rules.residual_factors import (
    PUBLISHED,
    FactorKind,
    FactorRow,
    TreatedSurface,
    chosen,
    days_sentence,
    factor_words,
    factors_of,
    kept_factors,
    set_by_office,
)

MAY_12 = date(2026, 5, 12)
WALL = TreatedSurface(MAY_12, ("Lambda-cyhalothrin",), "cs", "porous_masonry", "sun")
FROM = date(2026, 1, 1)


def row(kind: str, factor: str, on: date = FROM, **key: object) -> FactorRow:
    return FactorRow(kind, Decimal(factor), on, **key)  # type: ignore[arg-type]


def days(claim: int, rows: list[FactorRow], treated: TreatedSurface = WALL) -> int:
    return window_days(claim, factors_of(chosen(rows, treated)))


def test_the_published_ratio_counts_where_it_was_measured() -> None:
    """PMC4392635 (read): 42 to 56 days on cement, more than 152 on wood; claim 60 gives 21."""
    assert days(60, list(PUBLISHED)) == 21
    assert days(60, list(PUBLISHED), replace(WALL, surface="bare_wood")) == 60
    assert days(60, list(PUBLISHED), replace(WALL, formulation="sc")) == 60
    assert days(60, list(PUBLISHED), replace(WALL, ingredients=("bifenthrin",))) == 60


def test_rain_as_published() -> None:
    """PLoS ONE 15(4):e0231251 (read): 465 mm leaves 42 of 90 days; none leaves 90."""
    assert days(90, [row("rain", str(rain_factor(Decimal(465))))]) == 42
    assert days(90, [row("rain", str(rain_factor(Decimal(0))))]) == 90
    assert days(90, [row("rain", "0.47")], replace(WALL, is_rain_protected=True)) == 90


@pytest.mark.parametrize(
    ("rows", "treated", "expected"),
    [
        ([], WALL, 90),
        ([row("exposure", "0.8", exposure="sun")], WALL, 72),
        ([row("exposure", "0.8", exposure="sun")], replace(WALL, exposure="shaded"), 90),
        # not yet in force, and in force from its own day on
        ([row("exposure", "0.8", date(2026, 5, 13), exposure="sun")], WALL, 90),
        ([row("exposure", "0.8", MAY_12, exposure="sun")], WALL, 72),
        # a later row of the same key takes its place, a 1 ends it
        ([row("heat", "0.5"), row("heat", "0.8", date(2026, 2, 1))], WALL, 72),
        ([row("heat", "0.5"), row("heat", "1", date(2026, 2, 1))], WALL, 90),
        # on one day the row entered later
        ([row("heat", "0.5", pk=2), row("heat", "0.8", pk=1)], WALL, 45),
        # what is named counts before what is general, whichever is smaller
        ([row("surface", "0.5"), row("surface", "0.9", surface="porous_masonry")], WALL, 81),
        # equally close: the smaller
        (
            [row("surface", "0.5", formulation="cs"), row("surface", "0.9", exposure="sun")],
            WALL,
            45,
        ),
        # months, also over the new year
        ([row("heat", "0.5", first_month=6, last_month=8)], WALL, 90),
        ([row("heat", "0.5", first_month=11, last_month=5)], WALL, 45),
        ([row("heat", "0.5", first_month=11, last_month=4)], WALL, 90),
        # all kinds together: 0.5 x 0.8 x 0.9 of 90, before the floor 32.4
        (
            [row("surface", "0.5"), row("exposure", "0.8"), row("rain", "0.9")],
            WALL,
            32,
        ),
    ],
)
def test_which_row_counts(rows: list[FactorRow], treated: TreatedSurface, expected: int) -> None:
    """House rule; the products by hand."""
    assert days(90, rows, treated) == expected


@pytest.mark.parametrize(
    ("on", "expires_on"),
    [
        (date(2028, 2, 28), date(2028, 4, 13)),  # over 29 February 2028
        (date(2027, 2, 28), date(2027, 4, 14)),
        (date(2026, 12, 31), date(2027, 2, 14)),
        (date(2026, 10, 31), date(2026, 12, 15)),  # US clocks go back on Nov 1, 2026
        (date(2026, 3, 7), date(2026, 4, 21)),  # and forward on Mar 8
    ],
)
def test_days_are_days_of_the_calendar(on: date, expires_on: date) -> None:
    """45 days by the calendar (derived)."""
    half = factors_of(chosen([row("heat", "0.5")], replace(WALL, on=on)))
    assert window(on, 90, factors=half).expires_on == expires_on


def test_the_sentence_explains_the_number() -> None:
    rows = [row("surface", "0.500", surface="porous_masonry", source="a trial"), row("heat", "1")]
    kept = kept_factors(WALL, chosen(rows, WALL))
    assert days_sentence(90, 45, factor_words(kept)) == (
        "label up to 90 days; brick, block or unsealed concrete wall × 0.5 (a trial): 45 days"
    )
    house = kept_factors(WALL, chosen([row("exposure", "0.8", exposure="sun")], WALL))
    assert factor_words(house) == "full sun × 0.8 (house rule)"
    assert (
        days_sentence(90, 90, factor_words(kept_factors(WALL, {})))
        == "label up to 90 days: 90 days"
    )
    assert days_sentence(90, 60, set_by_office("hosed off")) == (
        "label up to 90 days; set by the office (hosed off): 60 days"
    )
    assert kept["inputs"]["surface"] == "porous_masonry" and kept["surface"] == "0.5"


def test_windows_of_before_say_which_factor() -> None:
    assert factor_words({"surface": "0.5", "rain": "1"}) == "surface"


factor = st.decimals(Decimal(0), Decimal(1), places=3)
kinds = st.sampled_from(list(FactorKind))
tables = st.lists(
    st.builds(
        FactorRow,
        kind=kinds,
        factor=factor,
        from_on=st.dates(date(2026, 1, 1), date(2026, 12, 31)),
        surface=st.sampled_from(["", "porous_masonry", "bare_wood"]),
        exposure=st.sampled_from(["", "sun"]),
        first_month=st.integers(1, 12),
        last_month=st.integers(1, 12),
        pk=st.integers(1, 50),
    ),
    max_size=6,
)


@settings(max_examples=50)
@given(st.integers(0, 3650), tables)
def test_no_table_lengthens_a_claim(claim: int, rows: list[FactorRow]) -> None:
    assert 0 <= days(claim, rows) <= claim


@settings(max_examples=50)
@given(st.integers(0, 3650), kinds, factor, factor, tables)
def test_a_smaller_factor_never_holds_longer(
    claim: int, kind: FactorKind, one: Decimal, other: Decimal, rows: list[FactorRow]
) -> None:
    """Of each kind, whatever the other kinds say."""
    others = [row for row in rows if row.kind != kind]
    less, more = sorted((one, other))
    assert days(claim, [*others, row(kind, str(less))]) <= days(
        claim, [*others, row(kind, str(more))]
    )
