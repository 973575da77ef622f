"""Two records of one visit are one use of a product, put out in two loads."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from sites.rules.units import Amount
from tests.factories import make_zone
from tests.treatments.conftest import NOW, House
from tests.treatments.test_checks import ask, codes
from treatments.models import ActiveIngredient, LabelLimit, LabelUse, ResidualWindow, ZoneProtection
from treatments.rules.applications import Entered, TreatedZone
from treatments.selectors.windows import protection_drift
from treatments.services.recording import Recorded, record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
VISIT, ANOTHER = "visit-1", "visit-2"
JUDGED = ("rate", "interval", "uses", "ingredient", "product_year", "resistance", "bait")


def put(house: House, amount: str, visit: str = VISIT, **changes: Any) -> Recorded:
    """One load of the band: an amount of fl oz in as many gallons."""
    facts = {
        "product_amount": Entered(amount, "fl_oz"),
        "finished_amount": Entered(amount, "gal"),
        "visit_ref": visit,
    }
    application = house.application(**facts | changes)
    return record_application(application=application, by=house.technician, now=NOW)


def found(done: Recorded) -> set[tuple[str, str]]:
    return {(one.code, one.severity) for one in done.judgements if one.code in JUDGED}


def limited(house: House) -> None:
    """Once a year, at most 0.2269 lb of the ingredient per acre and 1 fl oz on 1,000 sq ft."""
    LabelUse.objects.filter(pk=house.use.pk).update(uses_per_year=1)
    ActiveIngredient.objects.update(irac_group="3A")
    for fact, limit, unit in (
        ("ingredient_per_acre_year", "0.2269", ""),
        ("product_per_area_year", "1", "fl_oz"),
    ):
        LabelLimit.objects.create(
            label_version=house.use.label_version, fact=fact, comparison="at_most",
            limit=Decimal(limit), unit=unit, severity="refuse", sentence="A year.", page="p. 6",
        )  # fmt: skip


def test_the_second_load_is_no_second_use(house: House) -> None:
    LabelUse.objects.filter(pk=house.use.pk).update(uses_per_year=1)
    ActiveIngredient.objects.update(irac_group="3A")
    put(house, "0.8")
    second = found(put(house, "0.8"))
    assert not {one for one in second if one[1] in ("violation", "warn")}
    assert {code for code, _ in found(put(house, "0.8", ANOTHER))} >= {"interval", "uses"}


@pytest.mark.parametrize(
    ("visit", "day"), [(ANOTHER, 0), ("", 0), (VISIT, 1)], ids=["another visit", "none", "next day"]
)
def test_another_visit_no_visit_and_another_day_are_another_use(
    house: House, visit: str, day: int
) -> None:
    put(house, "0.8", visit)
    later = NOW + timedelta(days=day)
    start = later - timedelta(minutes=40)
    again = house.application(
        visit_ref="" if visit == "" else VISIT, started_at=start, finished_at=start
    )
    done = record_application(application=again, by=house.technician, now=later)
    assert ("interval", "violation") in found(done)


def test_uses_of_earlier_visits_are_counted_by_visit(house: House) -> None:
    LabelUse.objects.filter(pk=house.use.pk).update(uses_per_year=3)
    for visit, days in (("old", 60), ("older", 90)):
        for _ in range(2):
            start = NOW - timedelta(days=days)
            put(house, "0.8", visit, started_at=start, finished_at=start)
    said = [one.sentence for one in ask(house).judgements if one.code == "uses"]
    assert said == ["Foundation band: use 3 of 3 this year"]


def test_the_amounts_of_the_year_keep_both(house: House) -> None:
    limited(house)
    assert ("product_year", "note") in found(put(house, "0.8"))
    assert found(put(house, "0.8")) >= {("product_year", "note"), ("ingredient", "note")}
    third = found(put(house, "0.01"))
    assert third >= {("product_year", "violation"), ("ingredient", "violation"),
                     ("rate", "violation")}  # fmt: skip


def test_before_mixing_the_visit_counts_the_same_way(house: House) -> None:
    put(house, "1.2")
    assert {"interval"} <= codes(ask(house), "refuse")
    same = ask(house, visit_ref=VISIT)
    assert codes(same, "refuse") == set()
    assert "recorded before at this visit" in next(
        one.sentence for one in same.judgements if one.code == "rate"
    )


@pytest.mark.parametrize(
    ("amount", "gallons", "product", "finished"),
    [
        # derived: 1.52 fl oz (95 % of 1.6) and 1.6 gal are proposed for the whole band
        ("0.76", "0.8", "0.76", "0.8"),
        ("0.95", "0.8", "0.57", "0.6"),  # stronger: by the product
        ("0.38", "0.8", "0.76", "0.8"),  # weaker: by the spray
        ("0.76", None, "0.76", "0.8"),
    ],
)
def test_the_rest_is_proposed(
    house: House, amount: str, gallons: str | None, product: str, finished: str
) -> None:
    spray = Entered(gallons, "gal") if gallons else None
    put(house, amount, finished_amount=spray)
    rest = ask(house, visit_ref=VISIT)
    assert rest.product == Amount(Decimal(product), "fl_oz")
    assert rest.finished == Amount(Decimal(finished), "gal")


def test_nothing_is_left_to_mix(house: House) -> None:
    put(house, "1.6")
    rest = ask(house, visit_ref=VISIT)
    assert (rest.mix, rest.is_allowed) == (None, True)
    assert rest.so_far is not None and rest.so_far.product == Amount(Decimal("1.6"), "fl_oz")


def test_zones_of_the_first_record_only_are_not_of_the_second(house: House) -> None:
    wall = make_zone(house.place, "Wall", run="200", up="3", out="5")
    put(house, "1.6")
    done = put(house, "1.6", zones=(TreatedZone(wall.pk),))
    assert ("rate", "note") in found(done)
    both = (TreatedZone(house.band.pk), TreatedZone(wall.pk))
    assert ("rate", "violation") in found(put(house, "0.1", zones=both))


def test_the_protection_of_a_zone_is_kept_once(house: House) -> None:
    put(house, "0.8")
    first = ZoneProtection.objects.get()
    put(house, "0.8")
    kept = ZoneProtection.objects.get()
    assert (kept.expires_on, kept.counts) == (first.expires_on, True)
    assert ResidualWindow.objects.count() == 2 and protection_drift() == []


def test_another_load_asks_the_database_no_more_often(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    for _ in range(3):
        put(house, "0.2")
    with django_assert_max_num_queries(18):
        ask(house, visit_ref=VISIT)
    with django_assert_max_num_queries(51):
        put(house, "0.2")


def split(total: Decimal, cuts: list[int]) -> list[str]:
    """An amount in as many parts as there are shares of a hundred; the last takes the rest."""
    parts = [total * cut / 100 for cut in cuts]
    return [f"{part:f}" for part in (*parts, total - sum(parts, Decimal(0)))]


@given(
    hundredths=st.integers(100, 200),
    cuts=st.lists(st.integers(1, 30), min_size=1, max_size=3),
    walls=st.integers(1, 3),
)
@example(hundredths=160, cuts=[33, 33], walls=3)
@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_splitting_changes_no_judgement(
    house: House, hundredths: int, cuts: list[int], walls: int
) -> None:
    """Whatever one record would say of the amount, the last of its parts says."""
    with transaction.atomic():
        limited(house)
        bands = [make_zone(house.place, f"W{one}", run="200", up="3", out="5")
                 for one in range(walls)]  # fmt: skip
        zones = tuple(TreatedZone(band.pk) for band in bands)
        total = Decimal(hundredths) / 100 * walls
        with transaction.atomic():
            whole = found(put(house, f"{total:f}", zones=zones))
            transaction.set_rollback(True)
        *_, last = [put(house, part, zones=zones) for part in split(total, cuts)]
        assert found(last) == whole
        transaction.set_rollback(True)


def test_the_exact_maximum_in_three_loads(house: House) -> None:
    # 1.6 fl oz on 1,600 sq ft; a third is no whole number of uL, the typed digits count
    for amount in ("0.533333", "0.533333", "0.533334"):
        last = put(house, amount)
    assert ("rate", "note") in found(last)
    assert ("rate", "violation") in found(put(house, "0.000001"))


def test_another_direction_of_the_product_warns_only(house: House) -> None:
    spot = LabelUse.objects.get(pk=house.use.pk)
    pests = list(spot.pests.all())
    spot.pk, spot.title = None, "Spots"
    spot.save()
    spot.pests.set(pests)
    put(house, "1.6")
    assert ("rate", "warn") in found(put(house, "0.8", label_use_id=spot.pk))
