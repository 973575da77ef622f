"""Which records may forget their personal values (reference/regulations.md 7.5)."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.purging import ANCHORS, Anchor, Kept, anchor_of, forgettable, last_day
from treatments.rules.retention import add_years, retain_until

DAY = date(2024, 2, 29)


def kept(pk: int = 1, applied_on: date = DAY, years: int = 2, **more: object) -> Kept:
    """A record of Feb 29, 2024 that is kept for two years."""
    until = retain_until(applied_on, [years])
    assert until is not None
    row = Kept(pk, applied_on, applied_on, until)
    return replace(row, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("applied_on", "years", "first_day_without"),
    [
        # the fixtures of 7.5: the day of the rule is still kept, the next day begins "before"
        (date(2024, 2, 29), 2, date(2026, 3, 2)),  # kept through Mar 1, 2026
        (date(2024, 2, 29), 4, date(2028, 3, 1)),  # kept through Feb 29, 2028
        (date(2025, 6, 30), 3, date(2028, 7, 1)),  # US-FED 2 and US-OH 3: the longer
        (date(2024, 2, 29), 7, date(2031, 3, 2)),  # the firm's years
    ],
)
def test_the_last_day_is_kept_and_the_next_is_free(
    applied_on: date, years: int, first_day_without: date
) -> None:
    record = kept(applied_on=applied_on, years=years)
    assert forgettable([record], first_day_without - timedelta(days=1)) == frozenset()
    assert forgettable([record], first_day_without) == {1}


def test_a_hold_is_never() -> None:
    # 7.5: hold set -> never
    assert forgettable([kept(is_held=True)], date(9999, 12, 31)) == frozenset()


@pytest.mark.parametrize(
    ("codes", "until"),
    [
        ((), date(2026, 3, 1)),
        (("US-OH/1", "US-FED/2"), date(2026, 3, 1)),  # counted from the day of the work
        (("US-NC-34/1",), date(2031, 3, 1)),  # 02 NCAC 34 .0604: end of an agreement, not known
        (("US-ZZ/1",), date(2031, 3, 1)),  # nobody knows what it counts from
        (("US-OH/1", "US-NC-34/1"), date(2031, 3, 1)),  # one of them is enough
    ],
)
def test_an_anchor_that_is_not_known_keeps_the_firms_longest(
    codes: tuple[str, ...], until: date
) -> None:
    assert last_day(kept(codes=codes)) == until


def test_an_unknown_anchor_counts_from_the_later_of_work_and_record() -> None:
    late = kept(codes=("US-NC-34/1",), recorded_on=date(2024, 3, 10))
    assert last_day(late) == date(2031, 3, 10)


def test_a_promise_is_never_shortened_by_an_anchor() -> None:
    assert last_day(kept(years=9, codes=("US-ZZ/1",))) == date(2033, 3, 1)


def test_a_chain_is_forgotten_together() -> None:
    first = kept(1)
    second = kept(2, applied_on=date(2025, 1, 1), corrects=1)
    third = kept(3, corrects=2)
    chain, other = [first, second, third], kept(4)
    assert forgettable([*chain, other], date(2026, 6, 1)) == {4}
    assert forgettable([*chain, other], date(2027, 1, 2)) == {1, 2, 3, 4}
    held = [first, replace(second, is_held=True), third]
    assert forgettable(held, date(2030, 1, 1)) == frozenset()


def test_every_rule_of_the_reference_has_an_anchor_here() -> None:
    known = json.loads((Path(__file__).parent / "data" / "anchors.json").read_text())
    assert {code: str(anchor_of(code)) for code in known} == known
    assert set(ANCHORS) == set(known)
    assert anchor_of("US-NY/4") == Anchor.CALENDAR_YEAR_END


DAYS = st.dates(date(2000, 1, 1), date(2030, 12, 31))


@st.composite
def entries(draw: st.DrawFn) -> list[Kept]:
    """Chains of entries with any days, terms, holds and rules."""
    rows: list[Kept] = []
    for pk in range(1, draw(st.integers(1, 6)) + 1):
        day = draw(DAYS)
        rows.append(
            Kept(
                pk,
                day,
                draw(DAYS),
                add_years(day, draw(st.integers(0, 9))),
                draw(st.sampled_from([None, *range(1, pk)])),
                draw(st.booleans()),
                tuple(draw(st.lists(st.sampled_from(["US-OH/1", "US-NC-34", "X"]), max_size=2))),
            )
        )
    return rows


@given(entries(), DAYS)
def test_nothing_is_free_before_its_day_under_a_hold_or_before_its_chain(
    rows: list[Kept], before: date
) -> None:
    free = forgettable(rows, before)
    by_key = {row.pk: row for row in rows}
    for pk in free:
        assert by_key[pk].retain_until < before
        assert not by_key[pk].is_held
        assert by_key[pk].corrects is None or by_key[pk].corrects in free
    assert free <= forgettable(rows, before + timedelta(days=400))
