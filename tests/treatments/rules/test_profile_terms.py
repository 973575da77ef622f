"""How long records are kept and until when they must be complete, by the rules that were read."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.treatments.rules.profile_cases import VERIFIED
from treatments.rules.profile_terms import (
    Days,
    Deadline,
    Retention,
    business_days_after,
    complete_by,
    due_at,
    kept_until,
)
from treatments.rules.profile_words import Anchor, DeadlineKind

EAST = ZoneInfo("America/New_York")


def _kept(on: date, *codes: str, firm_years: int = 0, **days: date) -> date:
    return kept_until(
        [VERIFIED[code].retention for code in codes],
        Days(on, days.pop("recorded_on", on), **days),
        firm_years,
    )


@pytest.mark.parametrize(
    ("on", "codes", "until"),
    [
        # 40 CFR 171.303(b)(7): 2 years (read); Feb 29 becomes Mar 1 (house rule)
        (date(2024, 2, 29), ["US-FED"], date(2026, 3, 1)),
        # OAC 901:5-11-10: 3 years (read); the longer holds
        (date(2025, 6, 30), ["US-FED", "US-OH"], date(2028, 6, 30)),
        # WAC 16-228-1320: 7 years (read)
        (date(2026, 3, 1), ["US-WA"], date(2033, 3, 1)),
        # 6 NYCRR 325.25: 3 years on an annual basis (read): from the end of the year
        (date(2026, 3, 1), ["US-NY"], date(2029, 12, 31)),
        # Idaho: the rule says 2, the agency's page still 3 (both read): the longer
        (date(2026, 3, 1), ["US-ID"], date(2029, 3, 1)),
    ],
)
def test_kept_until(on: date, codes: list[str], until: date) -> None:
    assert _kept(on, *codes) == until


def test_four_years_after_a_leap_day_is_a_leap_day() -> None:
    days = Days(date(2024, 2, 29), date(2024, 2, 29))
    assert kept_until([Retention(4)], days, 0) == date(2028, 2, 29)


def test_two_years_beyond_the_agreement() -> None:
    """02 NCAC 34 .0604 (read); without a known end from the later of work and record."""
    on = date(2026, 11, 25)
    assert _kept(on, "US-NC-34", agreement_end=date(2027, 5, 31)) == date(2029, 5, 31)
    assert _kept(on, "US-NC-34", recorded_on=date(2026, 12, 1)) == date(2028, 12, 1)


def test_counted_from_the_record_where_the_rule_says_so() -> None:
    """F.A.C. 5E-14.142(1) (read): 2 years from the record."""
    assert _kept(date(2026, 1, 1), "US-FL", recorded_on=date(2026, 1, 9)) == date(2028, 1, 9)


def test_the_firm_keeps_at_least_its_own_years() -> None:
    assert _kept(date(2026, 3, 1), "US-OH", firm_years=7) == date(2033, 3, 1)
    unknown = kept_until([Retention(None)], Days(date(2026, 3, 1), date(2026, 3, 1)), 7)
    assert unknown == date(2033, 3, 1)


NINE = datetime(2026, 11, 25, 9, 0, tzinfo=EAST)  # a Wednesday


@pytest.mark.parametrize(
    ("code", "due"),
    [
        # OAC 901:5-11-10 (read): the same day, so the next morning is late
        ("US-OH", datetime(2026, 11, 26, 0, 0, tzinfo=EAST)),
        # 7 Pa. Code 128.35 (read): 24 h after the date, read as the end of the next day
        ("US-PA", datetime(2026, 11, 27, 0, 0, tzinfo=EAST)),
        # 21.17.50.10 NMAC (read): 24 h, read as after the end of the work
        ("US-NM", datetime(2026, 11, 26, 9, 0, tzinfo=EAST)),
        # 02 NCAC 09L .1402 (read): 72 h
        ("US-NC-09L", datetime(2026, 11, 28, 9, 0, tzinfo=EAST)),
        # Minn. Stat. 18B.37 (read): 5 days, so to the end of Nov 30
        ("US-MN", datetime(2026, 12, 1, 0, 0, tzinfo=EAST)),
        # A.A.C. R3-8-501 (read): 5 business days: 26, 27, 30 of November, 1 and 2 of December
        ("US-AZ", datetime(2026, 12, 3, 0, 0, tzinfo=EAST)),
        ("US-TX", None),
    ],
)
def test_complete_by(code: str, due: datetime | None) -> None:
    assert due_at(VERIFIED[code].deadline, NINE) == due


def test_the_case_of_the_reference_is_in_time_in_one_state_and_late_in_the_other() -> None:
    """Finished at 9:00 of day 1, complete at 23:59 of day 2 (reference 7.4)."""
    complete = datetime(2026, 11, 26, 23, 59, tzinfo=EAST)
    pennsylvania = due_at(VERIFIED["US-PA"].deadline, NINE)
    mexico = due_at(VERIFIED["US-NM"].deadline, NINE)
    assert pennsylvania is not None and mexico is not None
    assert mexico < complete < pennsylvania


def test_the_end_of_a_day_is_that_of_the_property() -> None:
    """On Nov 1, 2026 clocks go back in the east: the day there has 25 hours."""
    finished = datetime(2026, 11, 1, 0, 30, tzinfo=EAST)
    due = due_at(Deadline(DeadlineKind.SAME_DAY), finished)
    assert due is not None
    assert due.timestamp() - finished.timestamp() == 24.5 * 3600


def test_business_days_leave_out_the_weekend() -> None:
    assert business_days_after(date(2026, 11, 27), 1) == date(2026, 11, 30)
    assert business_days_after(date(2026, 11, 28), 1) == date(2026, 11, 30)


RETENTIONS = st.builds(Retention, st.none() | st.integers(0, 30), st.sampled_from(Anchor))
DEADLINES = st.builds(Deadline, st.sampled_from(DeadlineKind), st.integers(0, 400))
DATES = st.dates(date(2000, 1, 1), date(2060, 12, 31))


@given(st.lists(RETENTIONS, max_size=5), RETENTIONS, DATES, st.integers(0, 30), st.integers(0, 9))
def test_one_more_profile_never_shortens_retention(
    few: list[Retention], more: Retention, on: date, later: int, firm: int
) -> None:
    days = Days(on, on + timedelta(days=later))
    before = kept_until(few, days, firm)
    assert kept_until([*few, more], days, firm) >= before
    assert kept_until([more, *reversed(few)], days, firm) == kept_until([*few, more], days, firm)


@given(st.lists(DEADLINES, max_size=5), DEADLINES, st.datetimes(datetime(2000, 1, 1)))
def test_one_more_profile_never_lengthens_the_deadline(
    few: list[Deadline], more: Deadline, at: datetime
) -> None:
    finished = at.replace(year=min(at.year, 2100), tzinfo=EAST)
    before = complete_by(few, finished)
    after = complete_by([*few, more], finished)
    assert before is None or (after is not None and after <= before)
    assert complete_by([more, *reversed(few)], finished) == after


@given(DEADLINES, st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)))
def test_no_deadline_is_before_the_work_is_over(deadline: Deadline, at: datetime) -> None:
    finished = at.replace(tzinfo=EAST)
    due = due_at(deadline, finished)
    assert due is None or due.timestamp() >= finished.timestamp()
