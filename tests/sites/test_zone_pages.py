"""The pages of a zone: sizes as one checks them by hand, slips at their field, one step back."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from accounts.models import AuditEvent, Branch, Person
from sites.models import Property, TreatableZone
from sites.rules.entries import NewProperty, NewZone
from sites.rules.zone_sizes import zone_size
from sites.services.properties import add_properties
from sites.services.zones import add_zones
from tests.accounts.pages import ask, errors, send, typed, words
from tests.factories import make_customer, make_property, make_zone

BAND = {
    "name": "Foundation band",
    "place": "foundation_wall",
    "geometry": "band",
    "length_unit": "ft",
    "wall_run": "180",
    "height_up": "3",
    "width_out": "3",
    "corners": "simple",
    "surface": "porous_masonry",
    "exposure": "sun",
}
# 1 ft is 304.8 mm exactly (NIST Handbook 44, Appendix C)
FOOT = Decimal("304.8")
lengths = st.decimals("0.01", "999", places=2)


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    """A property of the office's own branch."""
    return make_property(make_customer(branch_ohio), "14 Heron Lane")


@pytest.mark.engine
def test_the_house_band_by_hand(office: Person, place: Property) -> None:
    """180 ft × (3 + 3) ft = 1,080 sq ft; × 92,903.04 = 100,335,283.2 mm2."""
    marks = {"is_rain_protected": "on", "is_over_impervious": "on"}
    response = send(office, "zone_add", place.pk, **BAND, **marks)
    assert response.headers["Location"] == place.get_absolute_url()
    zone = place.zones.get()
    assert zone.area_mm2 == 100_335_283
    assert (zone.wall_run, zone.height_up, zone.width_out) == ("180", "3", "3")
    assert (zone.surface, zone.exposure) == ("porous_masonry", "sun")
    assert zone.is_rain_protected and zone.is_over_impervious
    assert zone.created_by == office
    page = words(ask(office, "zone_edit", zone.pk))
    assert "180 ft × (3 up + 3 out) = 1,080 sq ft" in page


@pytest.mark.parametrize(
    ("fields", "area_mm2"),
    [
        # 100 m × 1.5 m = 150 m2
        ({"length_unit": "m", "wall_run": "100", "height_up": "", "width_out": "1.5"}, 150_000_000),
        # 100 × 3 + 4 × 3 × 3 = 336 sq ft = 31,215,421.44 mm2
        ({"wall_run": "100", "height_up": "0", "corners": "square"}, 31_215_421),
        # a length has no area
        ({"geometry": "linear", "wall_run": "22"}, 0),
    ],
)
def test_other_sizes_by_hand(
    fields: dict[str, str], area_mm2: int, office: Person, place: Property
) -> None:
    assert send(office, "zone_add", place.pk, **BAND | fields).status_code == 302
    assert place.zones.get().area_mm2 == area_mm2


@given(run=lengths, up=lengths, out=lengths)
def test_a_band_is_its_run_times_up_plus_out(run: Decimal, up: Decimal, out: Decimal) -> None:
    zone = NewZone(1, "A", "foundation_wall", str(run), str(up), str(out))
    exact = run * FOOT * (up * FOOT + out * FOOT)
    assert abs(zone_size(zone).area_mm2 - exact) <= Decimal("0.5")


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "required"),
        ("place", "roof", "not one of the available choices"),
        ("wall_run", "", "required"),
        ("wall_run", "abc", "is not a number"),
        ("wall_run", "-180", "below zero"),
        ("wall_run", "1000000000000", "more than the most"),
        ("wall_run", "NaN", "is not a number"),
        ("wall_run", "Infinity", "is not a number"),
        ("wall_run", "1,080", "has a comma"),
        ("wall_run", "0", "above zero"),
        ("height_up", "three", "is not a number"),
        ("height_up", "-1", "below zero"),
        ("width_out", "3,5", "has a comma"),
        ("width_out", "1001", "more than the most"),
    ],
)
def test_a_slip_gets_a_sentence_and_everything_is_kept(
    field: str, value: str, sentence: str, office: Person, place: Property
) -> None:
    entered = BAND | {field: value}
    response = send(office, "zone_add", place.pk, **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert {name: typed(response, name) for name in entered} == entered
    assert not TreatableZone.objects.exists()
    assert not AuditEvent.objects.filter(act="zone_added").exists()


def test_a_slip_while_changing_leaves_the_zone_as_it_was(office: Person, place: Property) -> None:
    zone = make_zone(place, "Foundation band")
    response = send(office, "zone_edit", zone.pk, **BAND | {"wall_run": "2OO"})
    assert list(errors(response)) == ["wall_run"]
    assert typed(response, "wall_run") == "2OO"
    before = zone.area_mm2
    zone.refresh_from_db()
    assert (zone.wall_run, zone.area_mm2) == ("120", before)


@pytest.mark.engine
def test_a_name_is_given_once_a_property(office: Person, place: Property) -> None:
    first = make_zone(place, "Foundation band")
    second = make_zone(place, "Soil band")
    sentence = "Give this one another name"
    assert sentence in errors(send(office, "zone_add", place.pk, **BAND))["name"][0]
    assert sentence in errors(send(office, "zone_edit", second.pk, **BAND))["name"][0]
    assert send(office, "zone_edit", first.pk, **BAND).status_code == 302
    other = make_property(place.customer)
    assert send(office, "zone_add", other.pk, **BAND).status_code == 302


def test_a_zone_is_retired_after_one_page(office: Person, place: Property) -> None:
    zone = make_zone(place, "Foundation band")
    page = ask(office, "zone_retire", zone.pk)
    assert "its records stay" in words(page)
    zone.refresh_from_db()
    assert zone.retired_on is None
    response = send(office, "zone_retire", zone.pk)
    assert response.headers["Location"] == place.get_absolute_url()
    zone.refresh_from_db()
    assert zone.retired_on is not None
    again = send(office, "zone_retire", zone.pk)
    assert "is retired since" in errors(again)["__all__"][0]


def test_lengths_open_the_number_pad(office: Person, place: Property) -> None:
    page = ask(office, "zone_add", place.pk).content.decode()
    assert page.count('inputmode="decimal"') == 3


def _bulk_queries(office: Person, count: int) -> int:
    customer = make_customer(office.branch)
    where = (office.branch_id, customer.pk)
    rows = [
        NewProperty(*where, f"{number} Heron Lane", "Pellbrook", "OH", "43085")
        for number in range(count)
    ]
    with CaptureQueriesContext(connection) as asked:
        places = add_properties(rows, by=office)
        add_zones([NewZone(one.pk, "A", "soil_band", "9", "0", "3") for one in places], by=office)
    assert TreatableZone.objects.filter(property__customer=customer).count() == count
    return len(asked)


@pytest.mark.engine
def test_three_or_thirty_at_once_are_as_many_queries(office: Person) -> None:
    """Thirty fit one INSERT on both engines; SQLite splits longer ones at its 999 parameters."""
    assert office.roles
    assert _bulk_queries(office, 3) == _bulk_queries(office, 30)
