"""What was put down before counts by ingredient, whatever product it was in."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests.factories import make_label, make_product, make_record
from tests.treatments.conftest import NOW, House
from tests.treatments.test_checks import ask, codes
from treatments.models import ActiveIngredient, LabelLimit, LabelUse, ProductIngredient
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
ON = NOW.date()


def limited(house: House, limit: str) -> None:
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="ingredient_per_acre_year",
        comparison="at_most",
        limit=Decimal(limit),
        severity="refuse",
        sentence="Active ingredient a year.",
        page="p. 6",
    )


def another(house: House, ingredient: str = "demothrin", **strength: Any) -> LabelUse:
    """Another product, twice as strong in the same ingredient unless said otherwise."""
    product = make_product("Demonstration B SC")
    found, _ = ActiveIngredient.objects.get_or_create(common_name=ingredient)
    facts = {"percent_by_weight": Decimal(15), "pounds_per_gallon": Decimal("1.333334")} | strength
    ProductIngredient.objects.create(product=product, ingredient=found, **facts)
    return make_label(product, pests=[house.pest])


def put(house: House, use: LabelUse, on: date, **amount: Any) -> None:
    """0.8 fl oz of the product on the whole band."""
    facts = {"product_ul": 23_659} | amount
    make_record(house.band, house.technician, use, applied_on=on, **facts)


def ingredient(house: House, **changes: Any) -> list[tuple[str, str]]:
    judgements = ask(house, **changes).judgements
    return [(one.severity, one.sentence) for one in judgements if one.code == "ingredient"]


@pytest.mark.parametrize(
    ("limit", "severity"),
    [
        # derived: 0.8 fl oz of 1.333334 lb per gal is 0.00833334 lb on 1,600 sq ft, 0.226875 lb
        # per acre; the proposal, 95 % of 1 fl oz on 1,000 sq ft of 2/3 lb per gal, 0.215531
        ("0.4425", "note"),
        ("0.4423", "refuse"),
    ],
)
def test_every_product_with_the_ingredient_counts(house: House, limit: str, severity: str) -> None:
    limited(house, limit)
    put(house, another(house), date(2026, 3, 1))
    assert [one for one, _ in ingredient(house)] == [severity]


def test_another_ingredient_and_another_year_do_not_count(house: House) -> None:
    limited(house, "0.2156")
    put(house, another(house, "invenacloprid"), date(2026, 3, 1))
    put(house, house.use, date(2025, 3, 1))
    assert [one for one, _ in ingredient(house)] == ["note"]


def test_an_amount_nobody_wrote_down_asks_by_name(house: House) -> None:
    limited(house, "1")
    put(house, another(house), date(2026, 3, 1), product_ul=None, product_amount="")
    assert ingredient(house) == [("warn", "demothrin put on these zones this year is not known.")]


def test_uses_and_interval_are_of_the_product_the_ingredient_only_warns(house: House) -> None:
    LabelUse.objects.filter(pk=house.use.pk).update(uses_per_year=1)
    put(house, another(house), ON - timedelta(days=2))
    found = ask(house)
    assert codes(found, "refuse") == set()
    assert "interval" in codes(found, "warn")
    put(house, house.use, ON - timedelta(days=30))
    assert codes(ask(house), "refuse") == {"uses"}


def test_what_is_booked_warns_before_mixing_and_is_no_judgement_of_a_record(house: House) -> None:
    LabelUse.objects.filter(pk=house.use.pk).update(uses_per_year=2)
    booked = ((house.band.pk, ON + timedelta(days=14)),)
    assert "uses" in codes(ask(house, booked=booked), "warn")
    assert "uses" not in codes(ask(house), "warn")
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    assert "uses" not in {one.code for one in done.judgements if one.severity == "warn"}


def test_other_products_take_one_query_more(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    for _ in range(3):
        put(house, another_named(house), date(2026, 3, 1))
    with django_assert_max_num_queries(19):
        ask(house)


def another_named(house: House) -> LabelUse:
    use = make_label(pests=[house.pest])
    ProductIngredient.objects.create(
        product=use.label_version.product,
        ingredient=ActiveIngredient.objects.get(common_name="demothrin"),
        percent_by_weight=Decimal(8),
    )
    return use


def test_the_same_group_and_bait_are_read_from_the_records(house: House) -> None:
    ActiveIngredient.objects.update(irac_group="3A")
    gel = make_label(make_product("Demonstration C gel", formulation="gel"), pests=[house.pest])
    put(house, gel, ON - timedelta(days=3), pests=[house.pest.common_name])
    assert "bait" in codes(ask(house), "warn")
    put(house, another(house), ON - timedelta(days=2), pests=[house.pest.common_name])
    found = [one for one in ask(house).judgements if one.code == "resistance"]
    # a stink bug does not breed indoors: it stands in the fold
    assert [one.severity for one in found] == ["note"]
    house.pest.group = "cockroaches"
    house.pest.save()
    assert "resistance" in codes(ask(house), "warn")
