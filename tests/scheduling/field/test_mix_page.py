"""The mix page: rate with its reason, measure, measured equipment, and every basis of a label."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from accounts.models import Branch
from scheduling.models import VisitApplication
from sites.rules.places import Geometry, Place
from tests.factories import make_label, make_product, make_zone
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_pages import text
from treatments.models import (
    Calibration,
    Equipment,
    LabelLimit,
    LabelUse,
    RecordPersonalValue,
)

pytestmark = pytest.mark.django_db
REASON = "Cracked+brick%2C+heavy"


@pytest.fixture
def sprayer(stop: Stop) -> Equipment:
    """A 2-gallon can of the technician's branch that puts out 1.5 gal per 1,000 sq ft."""
    can = Equipment.objects.create(
        branch=stop.visit.technician.branch, name="Can 1", kind="hand_can", tank_gal=2
    )
    Calibration.objects.create(
        equipment=can,
        measured_on=date(2026, 11, 2),
        measuring="area",
        caught=Decimal("0.375"),
        over=250,
        gallons_per_1000=Decimal("1.5"),
    )
    return can


def test_the_low_rate_is_proposed_and_others_are_offered(stop: Stop) -> None:
    LabelUse.objects.update(rate_min=Decimal("0.4"))
    page = text(stop.mix())
    for words in ("Low rate, 0.40", "Middle rate, 0.60", "High rate, 0.76", "maximum, 0.80"):
        assert f"{words} fl oz per 1,000 sq ft" in page, words
    assert '<option value="low" selected>' in page
    assert "Marks of 1 mL</option>" in page
    assert ">7 mL<" in page  # 600 sq ft x 0.4 are 0.24 fl oz, 7.0976 mL


def test_a_high_rate_without_a_reason_is_asked_for_one(stop: Stop) -> None:
    LabelUse.objects.update(rate_min=Decimal("0.4"))
    page = text(stop.mix(f"{stop.choice}&rate=high&measure=mL-5"))
    assert "High rate: say why it is needed here, or take a lower rate." in page
    assert '<option value="high" selected>' in page and '<option value="mL-5" selected>' in page
    assert "Load 1 of 1" not in page


def test_the_reason_goes_into_the_record(stop: Stop) -> None:
    LabelUse.objects.update(rate_min=Decimal("0.4"))
    chosen = f"{stop.choice}&rate=most&reason={REASON}"
    page = text(stop.mix(chosen))
    assert ">14 mL<" in page  # 600 sq ft x 0.8 are 0.48 fl oz, 14.195 mL
    shown = text(stop.client.get(f"{stop.path}record/{chosen}"))
    assert "Raised to the maximum, 0.80 fl oz per 1,000 sq ft: Cracked brick, heavy" in shown
    assert stop.send(chosen).status_code == 302
    notes = RecordPersonalValue.objects.get(field="notes").value
    assert notes == (
        "Left the north side: wet.\n"
        "Raised to the maximum, 0.80 fl oz per 1,000 sq ft: Cracked brick, heavy"
    )


def test_the_low_rate_adds_nothing_to_the_notes(stop: Stop) -> None:
    assert stop.send().status_code == 302
    assert RecordPersonalValue.objects.get(field="notes").value == "Left the north side: wet."


def test_what_was_done_without_a_reason_is_recorded_all_the_same(stop: Stop) -> None:
    assert stop.send(f"{stop.choice}&rate=most").status_code == 302
    notes = RecordPersonalValue.objects.get(field="notes").value
    assert notes.endswith("0.80 fl oz per 1,000 sq ft: no reason given")


@pytest.mark.parametrize(
    ("measure", "says"),
    [
        ("mL-5", ">10 mL<"),  # 13.4855 mL down to a mark of 5
        ("fl_oz-0.25", ">0.25 fl oz<"),
        ("fl_oz-1", "0.456 fl oz is less than one mark of this measure, 1 fl oz. Take a finer"),
        ("oz_wt-1", ">13 mL<"),  # weighs nothing of a liquid: the measure proposed is taken
        ("bucket", ">13 mL<"),
    ],
)
def test_amounts_stand_on_a_mark_of_the_measure(stop: Stop, measure: str, says: str) -> None:
    assert says in text(stop.mix(f"{stop.choice}&measure={measure}"))


def test_the_record_is_read_in_the_unit_of_the_measure(stop: Stop) -> None:
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}&measure=mL-5"))
    assert '<option value="mL" selected>' in page
    assert "The mix said <b>10 mL, 0.60 gal</b>" in page


def test_the_equipment_gives_tank_and_output(stop: Stop, sprayer: Equipment) -> None:
    chosen = f"{stop.choice}&equipment={sprayer.pk}"
    page = text(stop.mix(chosen))
    # derived: 600 sq ft at 1.5 gal per 1,000 are 0.9 gal, one load of the 2-gallon tank
    assert "Can 1, 2 gal tank, 1.5 gal per 1,000 sq ft" in page
    assert ">0.90 gal<" in page and "Load 1 of 1" in page
    # the label's dilution belongs to its own gallon: half as much again is too strong
    assert "The dilution gives 50 % more product" in page
    record = text(stop.client.get(f"{stop.path}record/{chosen}"))
    assert 'name="equipment" value="Can 1"' in record


def test_an_output_below_the_label_says_what_to_do(stop: Stop, sprayer: Equipment) -> None:
    LabelUse.objects.update(min_gallons_per_1000=2)
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}"))
    assert "too concentrated: walk slower or take a larger nozzle, then measure again" in page


def only_a_range(stop: Stop, least: str | None, most: str | None) -> None:
    LabelUse.objects.filter(pk=stop.use.pk).update(
        gallons_per_1000=None, per_gallon=None, min_gallons_per_1000=least,
        max_gallons_per_1000=most,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("least", "most", "says"),
    [
        ("1", "2", ""),
        ("1.5", "1.5", ""),
        ("2", "5", "the label asks for 2.00 at least"),
        ("0.5", "1", "the label allows 1.00 at most"),
        ("2", None, "the label asks for 2.00 at least"),
        (None, "1", "the label allows 1.00 at most"),
    ],
)
def test_a_label_that_names_a_range_takes_the_measured_output(
    stop: Stop, sprayer: Equipment, least: str | None, most: str | None, says: str
) -> None:
    only_a_range(stop, least, most)
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}"))
    # derived: 600 sq ft at 1.5 gal per 1,000 are 0.9 gal; 95 % of 0.48 fl oz are 13.48 mL
    assert ">0.90 gal<" in page and "Load 1 of 1" in page and ">13 mL<" in page
    assert ("Can 1 puts out 1.50 gal" in page) == bool(says) and says in page


@pytest.mark.parametrize("is_chosen", [True, False])
def test_a_range_without_a_measured_output_asks_for_one(
    stop: Stop, sprayer: Equipment, is_chosen: bool
) -> None:
    only_a_range(stop, "2", "5")
    sprayer.calibrations.all().delete()
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}" if is_chosen else ""))
    assert "The label gives 2.00 to 5.00 gal per 1,000 sq ft. Choose equipment whose" in page
    assert ">13 mL<" in page and "Load 1" not in page and "was never measured" not in page


def test_what_is_spread_takes_no_water_of_a_sprayer(stop: Stop, sprayer: Equipment) -> None:
    only_a_range(stop, None, None)
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}"))
    assert ">13 mL<" in page and "Load 1" not in page and "The label gives" not in page


def test_equipment_that_was_never_measured_says_so(stop: Stop, sprayer: Equipment) -> None:
    sprayer.calibrations.all().delete()
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}"))
    assert "The output of Can 1 was never measured; the label's gallons are assumed." in (
        page.replace("&#x27;", "'")
    )
    assert ">0.60 gal<" in page


def test_equipment_of_another_branch_is_not_taken(
    stop: Stop, sprayer: Equipment, branch_penn: Branch
) -> None:
    sprayer.branch = branch_penn
    sprayer.save()
    page = text(stop.mix(f"{stop.choice}&equipment={sprayer.pk}"))
    assert "Can 1" not in page and ">0.60 gal<" in page


COUNTED: dict[str, Any] = {"per_gallon": None, "gallons_per_1000": None}


@pytest.mark.parametrize(
    ("zone", "use", "says"),
    [
        # derived: 960 cu ft of 10 x 8 x 12 at 2 fl oz per 1,000 are 1.92, 95 % of it 1.824 fl oz or
        # 53.94 mL; at 8 fl oz to the gallon 0.228 gal
        (
            {"run": "10", "up": "8", "out": "12", "geometry": Geometry.VOLUME},
            {
                "rate_basis": "space_volume",
                "rate_max": 2,
                "per_gallon": 8,
                "gallons_per_1000": None,
                "methods": ["space"],
            },
            (">53 mL<", ">0.23 gal<", "per 1,000 cu ft", "Load 1 of 1"),
        ),
        # derived: 40 ft at 2 g per 10 ft are 8 g, of which 95 %
        (
            {"run": "40", "up": "0", "out": "0", "geometry": Geometry.LINEAR},
            COUNTED
            | {"rate_basis": "linear", "rate_max": 2, "rate_unit": "g", "methods": ["dust"]},
            (">7.6 g<", "per 10 linear ft"),
        ),
        # derived: 14 placements of half a gram are 7 g, of which 95 %
        (
            {"run": "14", "up": "0", "out": "0", "geometry": Geometry.COUNT},
            COUNTED
            | {
                "rate_basis": "count",
                "rate_max": Decimal("0.5"),
                "rate_unit": "g",
                "methods": ["bait"],
            },
            (">6.65 g<", "0.475 g per placement"),
        ),
        # derived: 600 sq ft at 2 lb per 1,000 are 1.2 lb, 95 % of it 18.24 oz by weight
        (
            {"run": "120", "up": "2", "out": "3"},
            COUNTED | {"rate_max": 2, "rate_unit": "lb", "methods": ["granule"]},
            (">18.2 oz (wt)<", "1.900 lb per 1,000 sq ft"),
        ),
    ],
)
def test_every_basis_of_a_label_shows_amounts(
    stop: Stop, zone: Mapping[str, Any], use: dict[str, Any], says: tuple[str, ...]
) -> None:
    place = make_zone(stop.visit.property, "Here", **{"place": Place.CRACK_CREVICE, **zone})
    direction = make_label(make_product("Demonstration Z"), use=use | {"places": [place.place]})
    page = text(stop.mix(f"?zone={place.pk}&use={direction.pk}&tank=1"))
    assert "not counted by area" not in page and "Allowed" in page
    for words in says:
        assert words in page, words
    assert ("Tank, gal" in page) == bool(use["per_gallon"])
    record = text(stop.client.get(f"{stop.path}record/?zone={place.pk}&use={direction.pk}&tank=1"))
    assert says[0].strip("<>") in record


@pytest.mark.parametrize(
    "nonsense",
    ["rate=helicopter", "measure=%00", "equipment=99999999", "equipment=x", "reason=" + "x" * 300],
)
def test_nonsense_never_breaks_the_page(stop: Stop, nonsense: str) -> None:
    assert stop.mix(f"{stop.choice}&{nonsense}").status_code == 200


def test_a_metric_branch_reads_spray_and_tank_in_liters(stop: Stop) -> None:
    branch = stop.visit.property.branch
    branch.units = "metric"
    branch.save()
    choice = stop.choice.replace("tank=1", "tank=2")
    page = text(stop.mix(choice))
    # 0.6 gal x 3.785411784 L (NIST Handbook 44) are 2.2712 L: two loads in 2 liters
    assert "Tank, L" in page and ">2.27 L<" in page
    assert "Load 2 of 2" in page and ">0.27 L<" in page and "0.07 gal · 271 mL" in page
    # 1 fl oz on 1,000 sq ft is 29.5735 mL on 92.903 m2: 31.833 mL on 100 m2, 3.18 L on a hectare
    assert "mL per 100 m²" in page and "L per hectare" in page and "per acre" not in page
    assert "Fill half the water, 1.00 L." in page and "to the 2.00 L line" in page
    assert "fl oz per 1,000 sq ft" in page  # the label's own words stay as they are printed
    record = text(stop.client.get(f"{stop.path}record/{choice}"))
    assert '<option value="L" selected>' in record


METRIC_AIR = {"wind_mph": "", "temperature_f": "", "wind_m_s": "4.5", "temperature_c": "-3.5"}


def test_a_metric_branch_reads_weather_in_its_units(stop: Stop) -> None:
    branch = stop.visit.property.branch
    branch.units = "metric"
    branch.save()
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}"))
    assert "Wind, m/s" in page and "Air temperature, °C" in page
    assert "mph" not in page and "°F" not in page
    assert page.index("Wind, m/s") < page.index("Measured with")
    wrong = stop.send(**METRIC_AIR | {"wind_m_s": "70"})
    assert wrong.status_code == 422 and 'name="wind_m_s" value="70"' in text(wrong)
    assert stop.send(**METRIC_AIR).status_code == 302
    record = VisitApplication.objects.get(visit=stop.visit).record
    # 4.5 m/s by 0.44704 m/s a mile an hour are 10.066; -3.5 x 9 / 5 + 32 are 25.7
    assert (record.wind_mph, record.temperature_f) == ("10.07", "25.7")
    shown = text(stop.client.get(reverse("record", args=[record.pk])))
    assert "wind 4.5 m/s, -3.5 °C" in shown and "10.07" not in shown


def test_what_is_not_measured_stays_empty_in_a_metric_branch(stop: Stop) -> None:
    branch = stop.visit.property.branch
    branch.units = "metric"
    branch.save()
    assert stop.send(**METRIC_AIR | {"wind_m_s": "", "temperature_c": ""}).status_code == 302
    record = VisitApplication.objects.get(visit=stop.visit).record
    assert (record.wind_mph, record.temperature_f) == ("", "")


def test_the_technician_measures_water_from_the_mix(stop: Stop) -> None:
    LabelLimit.objects.create(
        label_version=stop.use.label_version, fact="water_distance", comparison="at_least",
        limit=25, severity="refuse", sentence="Not within 25 ft of water.", page="p. 6",
    )  # fmt: skip
    page = text(stop.mix())
    link = re.search(r'<a class="plain" href="(/stops/\d+/water/[^"]+)">Measure the', page)
    assert link
    address = unescape(link[1])
    for wrong in ("-1", "far", "", "20000"):
        assert stop.client.post(address, {"distance_ft": wrong}).status_code == 422
    answer = stop.client.post(address, {"distance_ft": "40"}, follow=True)
    assert "Distance to water 40 ft, least 25" in text(answer)
    place = stop.visit.property
    place.refresh_from_db()
    assert (place.water_measured_by, str(place.water_measured_on)) == (
        stop.visit.technician.full_name,
        "2026-11-25",
    )
    assert "Measure the distance to water" not in text(stop.mix())
