"""Typed rows of a label from the page to the record: asked, judged, kept; label data invented."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.models import ApplicatorLicense, Contact
from sites.models import Unit
from tests.factories import make_label, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.test_checks import ask, codes
from treatments.models import (
    ApplicationRecord,
    LabelLimit,
    LabelUse,
)
from treatments.rules.applications import Entered, TreatedZone
from treatments.rules.mix_choices import MixChoice
from treatments.rules.rate_choices import RateChoice
from treatments.selectors.checks import Preview
from treatments.selectors.tank_mixes import tank_mix
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db
SAYS = "As the label says."
HIGH = MixChoice(RateChoice.HIGH, "Heavy infestation.")


def row(house: House, fact: str, comparison: str = "required", **more: object) -> None:
    facts: dict[str, object] = {
        "limit": Decimal(0), "severity": "refuse", "sentence": SAYS, "page": "p. 9",
    }  # fmt: skip
    label = house.use.label_version
    LabelLimit.objects.create(
        label_version=label, fact=fact, comparison=comparison, **(facts | more)
    )


def put(house: House, **changes: object) -> ApplicationRecord:
    application = house.application(**changes)
    return record_application(application=application, by=house.technician, now=NOW).record


def said(record: ApplicationRecord, code: str) -> list[tuple[str, str]]:
    rows = record.judgements.filter(code=code)
    return [(one.severity, one.clause.rpartition(", ")[2]) for one in rows]


def asked(found: Preview) -> set[str]:
    return {question.code for question, _ in found.questions}


def low_and_high(house: House) -> None:
    """0.5 to 1 fl oz on 1,000 sq ft: 0.8 to 1.6 fl oz on the band, the middle 1.2."""
    LabelUse.objects.filter(pk=house.use.pk).update(rate_min=Decimal("0.5"))
    row(house, "high_rate_only")


def test_the_condition_is_asked_where_the_high_rate_is_chosen(house: House) -> None:
    low_and_high(house)
    assert "high_rate_only" not in asked(ask(house))
    high = ask(house, choice=HIGH)
    assert "high_rate_only" in asked(high) and "high_rate_only" in codes(high, "warn")
    no = ask(house, choice=HIGH, answers=(("high_rate_only", "no"),))
    assert not no.is_allowed and "high_rate_only" in codes(no, "refuse")


@pytest.mark.parametrize(
    ("amount", "answers", "severities"),
    [
        ("1.2", (), []),  # the middle rate
        ("1.21", (), [("warn", "p. 9")]),
        ("1.5", (("high_rate_only", "no"),), [("violation", "p. 9")]),
        # one load of two at the high rate: the answer says so, and is kept
        ("0.75", (("high_rate_only", "yes"),), [("note", "p. 9")]),
    ],
)
def test_the_record_knows_a_high_rate(
    house: House,
    amount: str,
    answers: tuple[tuple[str, str], ...],
    severities: list[tuple[str, str]],
) -> None:
    low_and_high(house)
    record = put(house, product_amount=Entered(amount, "fl_oz"), answers=answers)
    assert said(record, "high_rate_only") == severities
    assert [one.answer for one in record.answers.all()] == [answer for _, answer in answers]
    assert all(one.words.endswith(f"The label: {SAYS}") for one in record.answers.all())


def test_agitation_is_the_last_step_and_stands_with_the_record(house: House) -> None:
    row(house, "agitation", severity="note", sentence="Agitate always.")
    mix = ask(house).mix
    assert mix is not None and "Agitate always." in mix.fill_steps[-1]
    assert said(put(house), "agitation") == [("note", "p. 9")]


@pytest.mark.parametrize(
    ("units", "severity"),
    [((), "warn"), ((False,), "note"), ((True, False), "warn"), ((True, True), "violation")],
)
def test_units_say_whether_a_place_is_vacant(
    house: House, units: tuple[bool, ...], severity: str
) -> None:
    row(house, "vacant_only")
    for number, is_occupied in enumerate(units):
        Unit.objects.create(property=house.place, number=str(number), is_occupied=is_occupied)
    assert said(put(house), "vacant_only") == [(severity, "p. 9")]


def test_a_coordinator_speaks_for_a_school_until_it_is_answered(house: House) -> None:
    row(house, "school", "forbidden")
    assert "school" in codes(ask(house), "warn")
    customer = house.place.customer
    Contact.objects.create(customer=customer, name="Sam Example", role="school_ipm")
    assert "school" in codes(ask(house), "refuse")
    assert "school" in codes(ask(house, answers=(("school", "yes"),)), "note")


def test_a_part_of_a_surface_is_judged_by_what_was_treated(house: House) -> None:
    """A fifth: the label's row; 1,600 sq ft of band, 320 of them may be treated."""
    row(house, "surface_share", "at_most", limit=Decimal(20))
    before = [one for one in ask(house).judgements if one.code == "surface_share"]
    assert [(one.severity, one.to_do) for one in before] == [
        ("warn", "Treat no more than 320 sq ft of Foundation band.")
    ]
    few = {"product_amount": Entered("0.3", "fl_oz"), "finished_amount": Entered("0.3", "gal")}
    part = (TreatedZone(house.band.pk, Entered("320", "ft2")),)
    assert said(put(house, zones=part, **few), "surface_share") == [("note", "p. 9")]
    assert said(put(house), "surface_share") == [("violation", "p. 9")]


def test_the_first_of_two_loads_waits_for_the_second(house: House) -> None:
    LabelUse.objects.filter(pk=house.use.pk).update(rate_min=Decimal("0.8"))
    half = {"product_amount": Entered("0.8", "fl_oz"), "finished_amount": Entered("0.8", "gal")}
    visit = {"visit_ref": "visit-1", **half}
    assert said(put(house, **half), "rate")[0][0] == "warn"
    assert said(put(house, more_follows=True, **visit), "rate")[0][0] == "note"
    second = put(house, **visit)
    assert said(second, "rate")[0][0] == "note"
    assert "recorded before at this visit" in second.judgements.get(code="rate").sentence


@pytest.mark.parametrize(("categories", "severity"), [("10a", "note"), ("8", "warn"), ("", "warn")])
def test_a_license_without_the_category_warns(house: House, categories: str, severity: str) -> None:
    """Ohio asks for a category for each kind of work, whatever the product (its page, read)."""
    ApplicatorLicense.objects.filter(person=house.technician).update(
        kind="certified", categories=categories
    )
    found = [one for one in ask(house).judgements if one.code == "category"]
    assert [one.severity for one in found] == [severity]
    assert "Ohio" in found[0].clause


@pytest.mark.parametrize(
    ("named", "is_allowed"),
    [("demothrin", False), ("Demonstration K WP", True), ("samplacloprid", True), ("", False)],
)
def test_a_tank_mix_with_what_the_label_names_is_refused(
    house: House, named: str, is_allowed: bool
) -> None:
    """The row is of the second product's label; the first contains demothrin."""
    product = make_product("Demonstration P WP", formulation="wp")
    use = {"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None}
    other = make_label(product, pests=[house.pest], use=use)
    LabelLimit.objects.create(
        label_version=other.label_version, fact="tank_mix", comparison="forbidden",
        limit=0, severity="refuse", sentence="Not with it.", named=named, page="p. 3",
    )  # fmt: skip
    tank = tank_mix(ask(house), other.pk, tank_gal=Decimal(1), choice=MixChoice())
    refused = [one for one in tank.judgements if one.code == "tank_mix"]
    assert (tank.is_allowed, bool(refused)) == (is_allowed, not is_allowed)
