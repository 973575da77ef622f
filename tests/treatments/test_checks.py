"""Before mixing: the plan and the label's answer for whole zones."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from sites.models import Preference
from sites.rules.places import Geometry, Place
from sites.rules.units import Amount
from tests.factories import make_label, make_pest, make_product, make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import LabelLimit, LabelUse
from treatments.rules.applications import Entered, TreatedZone
from treatments.rules.measures import Measure
from treatments.rules.mix_choices import MixChoice
from treatments.rules.rate_choices import RateChoice
from treatments.rules.sprayers import Sprayer
from treatments.selectors.checks import Preview, preview
from treatments.services.recording import record_application

pytestmark = pytest.mark.django_db
ON = NOW.date()


def ask(house: House, **changes: Any) -> Preview:
    """What the phone asks for the whole band and a 1-gallon can."""
    facts: dict[str, Any] = {
        "person": house.technician,
        "property_id": house.place.pk,
        "zone_ids": [house.band.pk],
        "label_use_id": house.use.pk,
        "method": "perimeter_band",
        "pest_ids": [house.pest.pk],
        "tank_gal": Decimal(1),
        "on": ON,
    }
    return preview(**(facts | changes))


def codes(found: Preview, *severities: str) -> set[str]:
    """The clauses that answered with one of the severities."""
    return {one.code for one in found.judgements if one.severity in severities}


def test_the_mix_of_the_house_of_60_by_40(house: House) -> None:
    found = ask(house)
    assert found.mix is not None
    # derived: 1,600 sq ft, 1.6 gal, 2 loads of a 1-gal can; 95 % of 1.6 fl oz is proposed, for
    # the label's only rate is its maximum (house rule)
    assert (found.mix.area_sq_ft, found.mix.finished_gal) == (Decimal(1600), Decimal("1.6"))
    assert [load.finished_gal for load in found.mix.loads] == [Decimal(1), Decimal("0.6")]
    assert found.product == Amount(Decimal("1.52"), "fl_oz")
    assert found.finished == Amount(Decimal("1.6"), "gal")
    assert found.is_allowed


def test_the_low_rate_is_proposed_where_the_label_has_one(house: House) -> None:
    LabelUse.objects.update(rate_min=Decimal("0.5"))
    found = ask(house)
    assert found.product == Amount(Decimal("0.8"), "fl_oz")  # 1.6 thousand sq ft x 0.5
    assert codes(found, "refuse") == set()


def test_amounts_are_rounded_down_to_the_measure(house: House) -> None:
    found = ask(house, choice=MixChoice(measure=Measure("fl_oz", Decimal("0.25"))))
    # loads 0.95 and 0.57 fl oz on marks of a quarter: 0.75 and 0.50
    assert found.product == Amount(Decimal("1.25"), "fl_oz")


def test_a_granule_has_no_tank(house: House) -> None:
    use = make_label(
        make_product("Demonstration G granule", formulation="granule"),
        pests=[house.pest],
        use={
            "rate_unit": "lb",
            "rate_max": Decimal(2),
            "per_gallon": None,
            "gallons_per_1000": None,
            "methods": ["granule"],
        },
    )
    found = ask(house, label_use_id=use.pk, method="granule")
    assert found.mix is not None
    assert found.mix.loads == ()
    assert (found.product, found.finished) == (Amount(Decimal("3.04"), "lb"), None)  # 95 % of 3.2


def test_placements_are_counted(house: House) -> None:
    spots = make_zone(
        house.place, "Entry points", "3", "0", "0", geometry=Geometry.COUNT, place=Place.ENTRY_POINT
    )
    use = make_label(
        make_product("Demonstration B gel", formulation="gel"),
        pests=[house.pest],
        use={
            "rate_basis": "count",
            "rate_unit": "g",
            "rate_max": Decimal("0.5"),
            "per_gallon": None,
            "gallons_per_1000": None,
            "methods": ["bait"],
            "places": ["entry_point"],
        },
    )
    found = ask(house, zone_ids=[spots.pk], label_use_id=use.pk, method="bait")
    # 3 placements of half a gram at most, of which 95 % are proposed
    assert found.product == Amount(Decimal("1.425"), "g")
    assert found.mix is not None and (found.mix.loads, found.mix.per.unit) == ((), "each")
    assert found.is_allowed
    application = house.application(
        zones=(TreatedZone(spots.pk),),
        label_use_id=use.pk,
        method="bait",
        product_amount=Entered("1.6", "g"),
        finished_amount=None,
    )
    done = record_application(application=application, by=house.technician, now=NOW)
    assert (done.record.product_mg, done.record.product_ul) == (1600, None)
    rate = next(one for one in done.judgements if one.code == "rate")
    assert rate.severity == "violation"


def test_counted_places_have_no_mix(house: House) -> None:
    spots = make_zone(
        house.place, "Entry points", "3", "0", "0", geometry=Geometry.COUNT, place=Place.ENTRY_POINT
    )
    found = ask(house, zone_ids=[spots.pk])
    assert (found.mix, found.product) == (None, None)
    assert codes(found, "refuse") == {"place"}
    assert not found.is_allowed


RATES = {"rate_min": Decimal("0.4"), "rate_max": Decimal(1), "per_gallon": Decimal(1)}


@pytest.mark.parametrize(
    ("rate", "fl_oz"),
    # on 1,600 sq ft: 0.4, the middle of 0.4 and 1, 95 % of 1, 1 itself
    [("low", "0.64"), ("middle", "1.12"), ("high", "1.52"), ("most", "1.6")],
)
def test_the_rate_that_was_chosen(house: House, rate: str, fl_oz: str) -> None:
    LabelUse.objects.update(**RATES)
    found = ask(house, choice=MixChoice(rate=RateChoice(rate), reason="Heavy, many cracks"))
    assert found.product == Amount(Decimal(fl_oz), "fl_oz")
    assert found.is_allowed


@pytest.mark.parametrize(("mark", "said"), [("1", "note"), ("10", "warn")])
def test_a_mark_under_the_low_rate_is_no_low_rate(house: House, mark: str, said: str) -> None:
    # 0.64 fl oz are 18.9 mL: 18 is the low rate as it is read, 10 is far too little
    LabelUse.objects.update(**RATES)
    found = ask(house, tank_gal=Decimal(2), choice=MixChoice(measure=Measure("mL", Decimal(mark))))
    assert "rate" in codes(found, said)


@pytest.mark.parametrize(("rate", "reason"), [("high", ""), ("most", "  "), ("most", "x" * 201)])
def test_a_high_rate_needs_a_reason(rate: str, reason: str) -> None:
    with pytest.raises(Refused) as refused:
        MixChoice(rate=RateChoice(rate), reason=reason)
    assert (refused.value.code, refused.value.facts) == ("reason", {"field": "reason"})


SPACE: dict[str, Any] = {
    "rate_basis": "space_volume",
    "rate_unit": "fl_oz",
    "rate_max": Decimal(2),
    "per_gallon": Decimal(8),
    "gallons_per_1000": None,
    "methods": ["space"],
    "places": ["crack_crevice"],
}


def test_a_fog_goes_by_space_with_its_own_dilution(house: House) -> None:
    cellar = make_zone(
        house.place, "Cellar", "10", "8", "12", geometry=Geometry.VOLUME, place=Place.CRACK_CREVICE
    )
    roach = make_pest("Smoky brown roach")
    use = make_label(house.use.label_version.product, pests=[roach], use=SPACE,
                     effective_on=date(2026, 1, 2))  # fmt: skip
    found = ask(house, zone_ids=[cellar.pk], label_use_id=use.pk, method="space",
                pest_ids=[roach.pk])  # fmt: skip
    # derived: 960 cu ft at 2 fl oz per 1,000 are 1.92, of which 95 %; 8 fl oz of it to a gallon
    assert found.product == Amount(Decimal("1.824"), "fl_oz")
    assert found.finished == Amount(Decimal("0.228"), "gal")
    assert found.mix is not None and found.mix.product_per_acre is None
    assert found.is_allowed
    # 2/3 lb in 128 fl oz (trade.md 1.5): 1.824 fl oz hold 0.0095 lb
    assert found.mix.ai_lb is not None and found.mix.ai_lb.quantize(Decimal("1e-6")) == Decimal(
        "0.009500"
    )


def test_a_length_and_a_dust(house: House) -> None:
    cracks = make_zone(
        house.place, "Cracks", "40", "0", "0", geometry=Geometry.LINEAR, place=Place.CRACK_CREVICE
    )
    dust = SPACE | {"rate_basis": "linear", "rate_unit": "g", "per_gallon": None}
    use = make_label(
        make_product("Demonstration H dust", formulation="dust"),
        pests=[house.pest],
        use=dust | {"methods": ["dust"]},
    )
    tenth = Measure("g", Decimal("0.1"))
    found = ask(house, zone_ids=[cracks.pk], label_use_id=use.pk, method="dust",
                choice=MixChoice(measure=tenth))  # fmt: skip
    # 40 ft at 2 g per 10 ft are 8 g, of which 95 %
    assert (found.product, found.finished) == (Amount(Decimal("7.6"), "g"), None)
    assert found.is_allowed


CAN = Sprayer("Can 1", Decimal(2), Decimal("1.25"), ON)


def test_the_measured_output_takes_the_place_of_the_gallons_assumed(house: House) -> None:
    found = ask(house, choice=MixChoice(sprayer=CAN))
    # derived: 1,600 sq ft at 1.25 gal per 1,000 are 2 gal, one tank; the product stays the area's
    assert found.finished == Amount(Decimal(2), "gal")
    assert found.mix is not None and len(found.mix.loads) == 1
    assert found.product == Amount(Decimal("1.52"), "fl_oz")


def test_too_little_water_and_no_measurement_are_said(house: House) -> None:
    LabelUse.objects.update(min_gallons_per_1000=Decimal("1.5"))
    said = ask(house, choice=MixChoice(sprayer=CAN)).mix
    assert said is not None and "too concentrated" in said.warnings[0]
    never = ask(house, choice=MixChoice(sprayer=Sprayer("Can 2", Decimal(1))))
    assert never.mix is not None and "never measured" in never.mix.warnings[0]
    assert never.finished == Amount(Decimal("1.6"), "gal")  # the label's own gallon


def test_percent_in_the_spray_follows_the_output(house: House) -> None:
    percent = {"rate_basis": "percent", "rate_max": Decimal("0.5"), "rate_unit": "fl_oz"}
    LabelUse.objects.update(**percent, gallons_per_1000=None, per_gallon=None)
    assert ask(house).mix is None  # nobody knows how many gallons
    # derived: 2 gal at 0.5 % are 1.28 fl oz, of which 95 %
    found = ask(house, choice=MixChoice(sprayer=CAN))
    assert found.product == Amount(Decimal("1.216"), "fl_oz")


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"method": "space"}, {"fogging"}),
        ({"on": date(2025, 6, 1)}, {"version", "license"}),
        ({"on": date(2028, 6, 1)}, {"license"}),
    ],
)
def test_what_the_label_and_the_license_refuse(
    house: House, change: dict[str, Any], code: set[str]
) -> None:
    assert codes(ask(house, **change), "refuse") == code


def test_a_method_not_mentioned_asks_and_only_these_refuses(house: House) -> None:
    assert "method" in codes(ask(house, method="spot"), "warn")
    version = house.use.label_version
    version.only_listed_uses = True
    version.save()
    assert codes(ask(house, method="spot"), "refuse") == {"method"}


def test_the_interval_is_judged_from_the_records(house: House) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    assert codes(ask(house, on=ON + timedelta(days=6)), "refuse") == {"interval"}
    assert codes(ask(house, on=ON + timedelta(days=7)), "refuse") == set()


def test_uses_a_year_are_counted_in_the_calendar_year(house: House) -> None:
    LabelUse.objects.update(uses_per_year=1)
    record_application(application=house.application(), by=house.technician, now=NOW)
    assert codes(ask(house, on=date(2026, 12, 31)), "refuse") == {"uses"}
    assert codes(ask(house, on=date(2027, 1, 1)), "refuse") == set()


@pytest.mark.parametrize(("limit", "refused"), [("0.4537", set()), ("0.4308", {"ingredient"})])
def test_active_ingredient_a_year(house: House, limit: str, refused: set[str]) -> None:
    # derived: 1 fl oz on 1,000 sq ft of 2/3 lb per gal is 0.226875 lb per acre; the record
    # puts on all of it, the proposal 95 %: 0.4424 together
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="ingredient_per_acre_year",
        comparison="at_most",
        limit=Decimal(limit),
        severity="refuse",
        sentence="Active ingredient a year.",
        page="p. 6",
    )
    record_application(application=house.application(), by=house.technician, now=NOW)
    assert codes(ask(house, on=date(2026, 12, 20)), "refuse") == refused


def test_limits_of_another_direction_do_not_count(house: House) -> None:
    other = LabelUse.objects.create(
        label_version=house.use.label_version,
        title="Eaves",
        places=[Place.EAVE_SOFFIT],
        methods=["spot"],
        rate_max=Decimal(1),
        rate_unit="fl_oz",
        page="p. 5",
    )
    for use, height in ((other, 1), (house.use, 3)):
        LabelLimit.objects.create(
            label_version=use.label_version,
            label_use=use,
            fact="height_up",
            comparison="at_most",
            limit=height,
            severity="refuse",
            sentence="Height.",
            page="p. 5",
        )
    found = ask(house)
    assert "height_up" in codes(found, "note")
    assert "height_up" not in codes(found, "refuse")


@pytest.mark.parametrize(
    ("kind", "note", "severity"),
    [
        ("bait_only", "", "refuse"),
        ("product_refused", "demonstration a sc", "refuse"),
        ("product_refused", "not the one that smells", "warn"),
        ("call_first", "", "warn"),
    ],
)
def test_what_the_customer_insists_on(house: House, kind: str, note: str, severity: str) -> None:
    Preference.objects.create(
        property=house.place, kind=kind, note=note, said_by="Marta Ellwood", said_on=ON
    )
    assert "preference" in codes(ask(house), severity)
    Preference.objects.update(is_hard=False)
    assert "preference" not in codes(ask(house), "refuse", "warn")


def test_a_trainee_may_not_use_a_restricted_product(house: House) -> None:
    house.technician.licenses.update(kind="trainee")
    product = house.use.label_version.product
    product.is_restricted_use = True
    product.save()
    assert codes(ask(house), "refuse") == {"restricted", "training"}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"zone_ids": []}, "zones"),
        ({"zone_ids": [99_999_999]}, "zones"),
        ({"method": "helicopter"}, "zones"),
        ({"label_use_id": 99_999_999}, "direction"),
        ({"pest_ids": [99_999_999]}, "pests"),
        ({"tank_gal": Decimal(-1)}, "mix"),
    ],
)
def test_nonsense_is_refused(house: House, change: dict[str, Any], code: str) -> None:
    with pytest.raises(Refused) as refused:
        ask(house, **change)
    assert refused.value.code == code


def test_a_preview_takes_a_fixed_number_of_queries(
    house: House, other_technician: Person, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    zones = [make_zone(house.place, f"Wall {number}").pk for number in range(12)]
    for chosen in (zones[:1], zones):
        with django_assert_max_num_queries(18):
            ask(house, zone_ids=chosen, person=other_technician)


def test_the_distance_to_water_of_the_property_is_judged(house: House) -> None:
    LabelLimit.objects.create(
        label_version=house.use.label_version,
        fact="water_distance",
        comparison="at_least",
        limit=25,
        severity="refuse",
        sentence="Not within 25 ft of water.",
        page="p. 6",
    )
    assert "water_distance" in codes(ask(house), "warn")  # nobody measured it
    place = house.place
    place.water_distance_ft, place.water_measured_on = Decimal(20), ON
    place.water_measured_by = "Terry Technician"
    place.save()
    assert codes(ask(house), "refuse") == {"water_distance"}
    place.water_distance_ft = Decimal(40)
    place.save()
    assert "water_distance" not in codes(ask(house), "refuse", "warn")
