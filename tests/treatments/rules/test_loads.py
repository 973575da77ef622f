"""A load in numbers: strength, what is left, time to use, who may use it.

Units: 1 gal = 3,785,411.784 uL, 1 fl oz = 29,573.5295625 uL (NIST Handbook 44, Appendix C). The
2 % and what may be used where are house rules, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.rules.units import canonical
from treatments.rules.label_checks import Judgement
from treatments.rules.loads import (
    Mixture,
    OnBoard,
    entered_text,
    half_even,
    is_balanced,
    judge_rest,
    judge_use,
    left_ul,
    time_left,
    why_not,
)
from treatments.rules.products import Severity

GAL, FL_OZ = 3_785_412, 29_574
MIXED = datetime(2026, 11, 25, 9, 10, tzinfo=UTC)
LOAD = OnBoard("Demonstration A SC", "Demonstration A SC, label of Jan 2026", 7, MIXED, Decimal(4))
VOLUME = st.integers(min_value=1, max_value=400_000_000)


@pytest.mark.parametrize(
    ("product", "finished", "put_out", "expected"),
    [
        (FL_OZ, GAL, GAL, FL_OZ),  # all of it
        (FL_OZ, GAL, GAL // 2, 14_787),  # half a gallon of 1 fl oz in a gallon: 0.5 fl oz
        (47_318, 6_056_659, 2_271_247, 17_744),  # 1.6 fl oz in 1.6 gal; 0.6 gal holds 0.6 fl oz
        (1, 2, 1, 0),  # half to even: 0.5 is 0
        (3, 2, 1, 2),  # and 1.5 is 2
        (5, 2, 1, 2),  # and 2.5 is 2
        (FL_OZ, GAL, 0, 0),
    ],
)
def test_product_is_volume_times_strength(
    product: int, finished: int, put_out: int, expected: int
) -> None:
    assert Mixture(product, finished).product_in(put_out) == expected


@given(numerator=st.integers(0, 10**16), denominator=VOLUME)
def test_half_even_as_the_decimal_library_does_it(numerator: int, denominator: int) -> None:
    exact = Fraction(numerator, denominator)
    assert half_even(numerator, denominator) == round(exact)


@given(product=VOLUME, finished=VOLUME, parts=st.lists(VOLUME, min_size=1, max_size=6))
def test_the_parts_of_a_load_are_the_load(product: int, finished: int, parts: list[int]) -> None:
    """Volumes are exact; of the product each part is rounded once, by half a unit at most."""
    load = Mixture(product, finished)
    put_out, left = [], finished
    for part in parts:
        put_out.append(min(part, left))
        left -= put_out[-1]
    assert left_ul(finished, put_out) == left
    rounded = sum(load.product_in(part) for part in (*put_out, left))
    assert 2 * abs(rounded - product) <= len(put_out) + 1


@given(quantity=VOLUME, unit=st.sampled_from(["fl_oz", "gal", "mL", "L", "lb", "kg", "oz_wt"]))
def test_a_computed_amount_reads_back_as_the_same_number(quantity: int, unit: str) -> None:
    text, chosen = entered_text(quantity, unit)
    assert canonical(Decimal(text), chosen) == quantity
    assert len(text) <= 20


@pytest.mark.parametrize(
    ("quantity", "unit", "text"),
    [
        (14_195, "fl_oz", ("0.48", "fl_oz")),  # 14,195.29 uL are 0.48 fl oz
        (29_574, "fl_oz", ("1", "fl_oz")),
        (1_000_000, "gal", ("0.264172", "gal")),  # 999,999.8 uL
        (1_000_003, "gal", ("1000.003", "mL")),
    ],
)
def test_a_computed_amount_is_written_as_people_would(
    quantity: int, unit: str, text: tuple[str, str]
) -> None:
    assert entered_text(quantity, unit) == text


def test_half_even_of_decimals_agrees() -> None:
    assert Decimal("0.5").to_integral_value(ROUND_HALF_EVEN) == half_even(1, 2)


@pytest.mark.parametrize(
    ("difference", "balanced"),
    [(0, True), (200, True), (-200, True), (201, False), (-201, False)],
)
def test_two_percent_itself_is_still_within(difference: int, balanced: bool) -> None:
    assert is_balanced(difference, 10_000) is balanced


@pytest.mark.parametrize(
    ("minutes", "is_over", "said"),
    [
        (0, False, "use by 1:10 PM on Nov 25, 4 h 0 min left"),
        (110, False, "use by 1:10 PM on Nov 25, 2 h 10 min left"),
        (240, False, "use by 1:10 PM on Nov 25, 0 h 0 min left"),  # the last moment counts
        (241, True, "time to use it is over since 1:10 PM on Nov 25"),
    ],
)
def test_the_time_to_use(minutes: int, is_over: bool, said: str) -> None:
    now = MIXED + timedelta(minutes=minutes)
    assert (LOAD.is_over(now), time_left(LOAD, now)) == (is_over, said)


def test_a_label_without_a_time_never_ends_it() -> None:
    silent = replace(LOAD, hours=None)
    assert not silent.is_over(MIXED + timedelta(days=9))
    assert time_left(silent, MIXED) == "the label gives no time to use it"


def test_hours_that_only_warn_are_said_and_end_nothing() -> None:
    """House rule: a row that nobody verified warns."""
    warned = replace(LOAD, hours=None, warned_hours=Decimal(24))
    said = "the label says 24 hours, until 9:10 AM on Nov 26, in a row that only warns"
    assert not warned.is_over(MIXED + timedelta(days=9))
    assert time_left(warned, MIXED + timedelta(days=9)) == said == time_left(warned, MIXED)
    # a row that ends the load goes before one that warns
    assert time_left(replace(LOAD, warned_hours=Decimal(1)), MIXED).startswith("use by 1:10 PM")


def said(code: str, severity: Severity) -> Judgement:
    return Judgement(code, severity, "Lawn is not on this direction.", "p. 3")


@pytest.mark.parametrize(
    ("load", "version", "minutes", "judged", "sentence"),
    [
        (LOAD, 7, 60, [], ""),
        (LOAD, 7, 240, [said("rate", Severity.VIOLATION)], ""),  # the record says that itself
        (LOAD, 7, 60, [said("pest", Severity.WARN)], ""),  # a warning stops nobody
        (LOAD, 8, 60, [], "of another label"),
        (LOAD, 7, 241, [], r"over at 1:10 PM on Nov 25: the label allows 4 hours"),
        (LOAD, 7, 60, [said("place", Severity.VIOLATION)], "Lawn is not on this direction"),
        (LOAD, 7, 60, [said("method", Severity.REFUSE)], "may not be used here"),
        (LOAD, 7, 60, [said("pest", Severity.VIOLATION)], "may not be used here"),
        (replace(LOAD, is_ended=True), 7, 60, [], "empty or was disposed of"),
    ],
)
def test_who_may_use_a_load(
    load: OnBoard, version: int, minutes: int, judged: list[Judgement], sentence: str
) -> None:
    started = MIXED + timedelta(minutes=minutes)
    found = why_not(load, version, started, started + timedelta(minutes=20), judged)
    assert (sentence in found) if sentence else found == ""


def test_a_load_is_not_used_before_it_was_mixed() -> None:
    first = MIXED - timedelta(minutes=30)
    found = why_not(LOAD, 7, first, MIXED - timedelta(minutes=1), [])
    assert found == "This load was mixed at 9:10 AM on Nov 25, after this work. Put the true times."
    # a stop starts before its tank is mixed; clocks of forms have no seconds
    mixed = replace(LOAD, mixed_at=MIXED + timedelta(seconds=40))
    assert why_not(mixed, 7, first, MIXED, []) == ""


@pytest.mark.parametrize(
    ("left", "put_out", "minutes", "expected"),
    [
        (GAL, GAL, 60, []),
        (10_000, 85_000, 60, [("load", Severity.NOTE)]),  # 75,000 over: 1.98 % of the load
        (10_000, 86_000, 60, [("load", Severity.WARN)]),  # 76,000 over: 2.01 %
        (-500, 1_000, 60, [("load", Severity.NOTE)]),  # below zero already
        (GAL, GAL, 241, [("load_time", Severity.VIOLATION)]),  # began in time, ended late
    ],
)
def test_more_than_was_left_is_never_without_a_judgement(
    left: int, put_out: int, minutes: int, expected: list[tuple[str, Severity]]
) -> None:
    found = judge_use(LOAD, GAL, left, put_out, MIXED + timedelta(minutes=minutes))
    assert [(one.code, one.severity) for one in found] == expected


@pytest.mark.parametrize(
    ("expected_left", "found", "sentence"),
    [
        (GAL // 2, GAL // 2, None),
        (GAL // 2, GAL // 2 - 75_000, None),
        (GAL // 2, GAL // 2 - 76_000, "0.48 gal was left, 0.02 gal less than the 0.50 gal"),
        (0, GAL // 4, "0.25 gal was left, 0.25 gal more than the 0.00 gal"),
    ],
)
def test_uses_and_rest_are_the_load(expected_left: int, found: int, sentence: str | None) -> None:
    judgement = judge_rest(GAL, expected_left, found)
    assert (judgement.sentence[: len(sentence)] if judgement and sentence else None) == sentence
    assert (judgement is None) == (sentence is None)


@given(load=VOLUME, uses=st.lists(VOLUME, max_size=5), found=st.integers(0, 400_000_000))
def test_a_rest_is_judged_when_and_only_when_it_is_over_two_percent_off(
    load: int, uses: list[int], found: int
) -> None:
    expected = left_ul(load, uses)
    is_off = abs(Fraction(found - expected, load)) > Fraction(2, 100)
    assert (judge_rest(load, expected, found) is not None) == is_off


def test_a_clock_that_is_set_back_gives_no_hour_of_use() -> None:
    """In 2026 the clocks of New York go back on Nov 1 at 2 AM (IANA time zone data)."""
    columbus = ZoneInfo("America/New_York")
    mixed_at = datetime(2026, 10, 31, 10, 0, tzinfo=columbus)
    board = replace(LOAD, mixed_at=mixed_at, hours=Decimal(24))
    assert board.use_by == datetime(2026, 11, 1, 9, 0, tzinfo=columbus)
    assert not board.is_over(datetime(2026, 11, 1, 9, 0, tzinfo=columbus))
    assert board.is_over(datetime(2026, 11, 1, 9, 1, tzinfo=columbus))
