"""Terms, notice, rhythm and the table of states of an agreement."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from scheduling.rules.agreement_states import (
    AGREEMENT_TRANSITIONS,
    AgreementState,
    agreement_diagram,
    check_agreement_transition,
)
from scheduling.rules.agreements import (
    RENEWAL_LEAD_DAYS,
    add_months,
    check_end,
    check_rhythm,
    check_terms,
    is_renewal_near,
    last_day_of_term,
    read_seasons,
    rhythm_words,
    term_after,
)
from scheduling.rules.signatures import check_evidence, checked_signature, scan_type
from tests.agreements import make_terms
from tests.architecture.source import ROOT

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))


# the Gregorian calendar, counted by hand: 2028 is a leap year, 2027 and 2029 are none
@pytest.mark.parametrize(
    ("starts_on", "months", "last"),
    [
        (date(2026, 12, 1), 12, date(2027, 11, 30)),
        (date(2026, 1, 1), 12, date(2026, 12, 31)),
        (date(2027, 12, 31), 2, date(2028, 2, 28)),  # through the day before February 29
        (date(2028, 2, 29), 12, date(2029, 2, 27)),
        (date(2028, 2, 29), 48, date(2032, 2, 28)),
        (date(2027, 3, 1), 12, date(2028, 2, 29)),
        (date(2026, 8, 31), 1, date(2026, 9, 29)),
    ],
)
def test_the_last_day_of_a_term(starts_on: date, months: int, last: date) -> None:
    assert last_day_of_term(starts_on, months) == last


@given(DAYS, st.integers(1, 60), st.integers(1, 12))
def test_terms_follow_each_other_without_a_gap(starts_on: date, months: int, term: int) -> None:
    next_first = add_months(starts_on, months * term)
    assert last_day_of_term(starts_on, months, term) + timedelta(days=1) == next_first
    assert last_day_of_term(starts_on, months, term + 1) >= next_first


@given(DAYS, st.integers(1, 60), st.integers(0, 4000))
def test_the_term_that_goes_on_holds_the_day(starts_on: date, months: int, later: int) -> None:
    today = starts_on + timedelta(days=later)
    last = term_after(starts_on, months, today)
    ends = [last_day_of_term(starts_on, months, term) for term in range(1, 140)]
    assert last == min(one for one in ends if one >= today)


@given(DAYS)
def test_a_renewal_is_near_from_its_lead_on(ends_on: date) -> None:
    first = ends_on - timedelta(days=RENEWAL_LEAD_DAYS)
    assert is_renewal_near(ends_on, first)
    assert not is_renewal_near(ends_on, first - timedelta(days=1))


@given(DAYS, st.integers(0, 365), st.integers(-400, 400))
def test_an_end_is_refused_exactly_inside_the_notice(told: date, notice: int, later: int) -> None:
    ends_on = told + timedelta(days=later)
    try:
        check_end(ends_on, starts_on=told, told_on=told, notice_days=notice)
    except Refused as refused:
        assert later < notice and refused.code == "ends_on"
    else:
        assert later >= notice


@given(st.sampled_from(AgreementState), st.sampled_from(AgreementState))
def test_only_what_the_table_holds_is_allowed(old: AgreementState, new: AgreementState) -> None:
    if new in AGREEMENT_TRANSITIONS[old]:
        check_agreement_transition(old, new)
    else:
        with pytest.raises(Refused, match="cannot become"):
            check_agreement_transition(old, new)


def test_every_state_is_reached_and_only_the_end_is_final() -> None:
    reached, todo = {AgreementState.DRAFT}, [AgreementState.DRAFT]
    while todo:
        new = AGREEMENT_TRANSITIONS[todo.pop()] - reached
        reached |= new
        todo += new
    assert reached == set(AgreementState)
    final = {state for state, nexts in AGREEMENT_TRANSITIONS.items() if not nexts}
    assert final == {AgreementState.ENDED}


def test_developers_read_the_diagram_of_the_code() -> None:
    assert agreement_diagram().strip() in (ROOT / "DEVELOPERS.md").read_text()


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"months": 0}, "months"),
        ({"months": 61}, "months"),
        ({"notice_days": -1}, "notice_days"),
        ({"notice_days": 366}, "notice_days"),
        ({"price": 0}, "price"),
        ({"price": 1_000_000}, "price"),
        ({"price_per": "week"}, "price_per"),
        ({"starts_on": date(9999, 6, 1)}, "starts_on"),
    ],
)
def test_terms_nobody_can_keep_are_refused_at_their_field(
    fields: dict[str, object], field: str
) -> None:
    if "price" in fields:
        fields = {"price": Decimal(str(fields["price"]))}
    with pytest.raises(Refused) as refused:
        check_terms(make_terms(**fields))
    assert refused.value.facts["field"] == field
    assert refused.value.sentence.endswith(".")


@pytest.mark.parametrize("text", ["09-31 to 10-15", "02-29 to 03-10", "Sep to Oct", "09-01", "to"])
def test_a_season_that_cannot_be_read_is_quoted(text: str) -> None:
    with pytest.raises(Refused, match="cannot be read"):
        read_seasons(text)


def test_a_mixed_rhythm_is_said_in_the_customers_words() -> None:
    said = rhythm_words(by_residual=True, every_days=91, seasons="09-01 to 10-15, 12-20 to 01-05")
    assert said == (
        "We come when the treatment's planned time is nearly over, and every 91 days, and "
        "between Sep 1 and Oct 15, and between Dec 20 and Jan 5."
    )
    assert "bare" not in said and "unprotected" not in said


@pytest.mark.parametrize("every_days", [None, 6, 367])
def test_a_program_without_a_rhythm_is_refused(every_days: int | None) -> None:
    with pytest.raises(Refused):
        check_rhythm(by_residual=False, every_days=every_days, seasons="")


DRAWN = "M10 10L20 20L30 10L40 20L50 10"


@pytest.mark.parametrize(
    "path",
    [
        "",
        "M10 10",
        "M10 10L20 20L30 10L40 20",  # four points
        DRAWN + '"/><script>',
        DRAWN.replace("50", "601"),
        DRAWN.replace("20L50", "201L50"),
        DRAWN + "L10 10" * 4000,
        "m1 1l2 2l3 3l4 4l5 5",
    ],
)
def test_a_line_that_is_no_signature_is_refused(path: str) -> None:
    with pytest.raises(Refused) as refused:
        checked_signature(path)
    assert refused.value.facts["field"] == "signature"


points = st.tuples(st.integers(0, 600), st.integers(0, 200))


@given(st.lists(points, min_size=5, max_size=200))
def test_what_the_field_draws_is_taken(drawn: list[tuple[int, int]]) -> None:
    path = "M" + "L".join(f"{x} {y}" for x, y in drawn)
    assert checked_signature(path) == path


@pytest.mark.parametrize(
    ("how", "given_", "field"),
    [
        ("typed", {"signer": "Pat"}, "signer"),
        ("drawn", {}, "signature"),
        ("paper", {}, "scan"),
        ("paper", {"scan": b"MZ"}, "scan"),
        ("email", {"note": " "}, "note"),
    ],
)
def test_evidence_that_shows_nothing_is_refused(
    how: str, given_: dict[str, object], field: str
) -> None:
    shown = {"signer": "Pat Example", "signature": "", "scan": b"", "note": ""} | given_
    with pytest.raises(Refused) as refused:
        check_evidence(how, **shown)  # type: ignore[arg-type]
    assert refused.value.facts["field"] == field


def test_a_scan_is_known_by_its_first_bytes() -> None:
    assert scan_type(b"%PDF-1.7") == "application/pdf"
    assert scan_type(b"\xff\xd8\xff\xe0") == "image/jpeg"
    with pytest.raises(Refused, match="10 MB"):
        scan_type(b"%PDF-" + b"0" * 10 * 1024 * 1024)
