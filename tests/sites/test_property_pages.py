"""The pages of a property and how one gets in: who sees them, and what is kept when refused."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.models import AuditEvent, Branch, Customer, Person
from sites.models import Property, PropertyAccess
from sites.rules.entries import NewProperty
from sites.services.properties import add_property
from sites.services.wishes import add_caution, add_preference, add_unit
from tests.accounts.pages import ask, codes, errors, send, typed
from tests.factories import TODAY, make_customer, make_property, make_zone
from tests.refusing import refused

pytestmark = pytest.mark.django_db
ON_A_PROPERTY = (
    "property_edit",
    "property_access",
    "property_water",
    "caution_add",
    "preference_add",
    "unit_add",
    "zone_add",
)


@pytest.fixture
def customer(branch_ohio: Branch) -> Customer:
    """A customer of the office's own branch."""
    return make_customer(branch_ohio, "Nadia Castellane")


@pytest.fixture
def place(customer: Customer) -> Property:
    """A property of the office's own branch."""
    return make_property(customer, "14 Heron Lane")


@pytest.fixture
def entered(branch_ohio: Branch) -> dict[str, str]:
    """A whole address as it is typed."""
    return {
        "street": "16 Heron Lane",
        "city": "Pellbrook",
        "state": "OH",
        "zip_code": "43085",
        "county": "Franklin",
        "structure": "Brick on slab, 1987",
        "branch": str(branch_ohio.pk),
        "latitude": "40.0934",
        "longitude": "-83.018",
    }


def _addresses(place: Property) -> list[tuple[str, int]]:
    """Every address of this floor for one property, with one of each thing entered there."""
    wish = {"kind": "bait_only", "said_by": "Pat", "said_on": TODAY}
    caution = add_caution(property_id=place.pk, kind="dog", by=None)
    preference = add_preference(property_id=place.pk, **wish, by=None)
    zone = make_zone(place)
    return [
        ("property_add", place.customer_id),
        *((name, place.pk) for name in ON_A_PROPERTY),
        ("caution_remove", caution.pk),
        ("preference_remove", preference.pk),
        ("unit_edit", add_unit(property_id=place.pk, number="1A", by=None).pk),
        ("zone_edit", zone.pk),
        ("zone_retire", zone.pk),
    ]


def test_every_form_is_the_offices(
    place: Property, manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    for name, pk in _addresses(place):
        asking = [manager, office, technician, stranger, None]
        assert codes(asking, name, pk) == [200, 200, 403, 403, 302], name
        assert send(technician, name, pk).status_code == 403, name
        assert send(stranger, name, pk).status_code == 403, name


def test_another_branchs_property_is_not_there(
    branch_penn: Branch, office: Person, manager: Person
) -> None:
    far = make_property(make_customer(branch_penn, "Peter Penn"))
    for name, pk in _addresses(far):
        assert codes([manager, office], name, pk) == [200, 404], name
        assert send(office, name, pk).status_code == 404, name
    assert far.cautions.count() == far.preferences.count() == far.units.count() == 1
    assert far.zones.get().retired_on is None


def test_what_is_nowhere_is_not_found(office: Person, place: Property) -> None:
    for name, _ in _addresses(place):
        assert ask(office, name, 999_999).status_code == 404, name


def test_a_property_is_added_as_typed(
    office: Person, customer: Customer, entered: dict[str, str]
) -> None:
    response = send(office, "property_add", customer.pk, **entered)
    place = Property.objects.get()
    assert response.headers["Location"] == place.get_absolute_url()
    assert place.address == "16 Heron Lane, Pellbrook, OH 43085"
    assert (place.county, place.structure) == ("Franklin", "Brick on slab, 1987")
    assert (place.customer, place.branch, place.created_by) == (customer, office.branch, office)
    assert (str(place.latitude), str(place.longitude)) == ("40.093400", "-83.018000")


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("street", "", "required"),
        ("street", "x" * 201, "at most 200"),
        ("city", "  ", "required"),
        ("zip_code", "", "required"),
        ("zip_code", "4308", "not a ZIP code"),
        ("zip_code", "abcde", "not a ZIP code"),
        ("state", "XX", "state"),
        ("latitude", "north", "number"),
        ("latitude", "NaN", "number"),
        ("latitude", "91", "less than or equal to 90"),
        ("latitude", "1000000000000", "less than or equal to 90"),
        ("longitude", "-181", "greater than or equal to -180"),
        ("latitude", "", "latitude too, or neither"),
        ("longitude", "", "longitude too, or neither"),
        ("branch", "999999", "choose one from this list"),
    ],
)
def test_a_slip_gets_a_sentence_and_everything_is_kept(
    field: str,
    value: str,
    sentence: str,
    office: Person,
    customer: Customer,
    entered: dict[str, str],
) -> None:
    entered = entered | {field: value}
    response = send(office, "property_add", customer.pk, **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert {name: typed(response, name) for name in entered} == entered
    assert not Property.objects.exists()
    assert not AuditEvent.objects.filter(act="property_added").exists()


@pytest.mark.parametrize("value", ["NaN", "sNaN", "Infinity", "-Infinity"])
def test_a_coordinate_is_a_number(value: str, office: Person, customer: Customer) -> None:
    place = NewProperty(
        *(office.branch_id, customer.pk, "16 Heron Lane", "Pellbrook", "OH", "43085"),
        latitude=Decimal(value),
        longitude=Decimal(0),
    )
    with refused("place", "latitude"):
        add_property(place=place, by=office)


@pytest.mark.engine
def test_the_same_address_in_another_spelling(
    office: Person, customer: Customer, entered: dict[str, str]
) -> None:
    send(office, "property_add", customer.pk, **entered)
    again = entered | {"street": "16 HERON LN."}
    response = send(office, "property_add", customer.pk, **again)
    assert "already" in errors(response)["street"][0]
    assert Property.objects.count() == 1
    neighbor = make_customer(customer.branch)
    assert send(office, "property_add", neighbor.pk, **again).status_code == 302


def test_a_property_is_changed_and_stays_with_its_customer(
    office: Person, place: Property, entered: dict[str, str]
) -> None:
    assert typed(ask(office, "property_edit", place.pk), "street") == "14 Heron Lane"
    response = send(office, "property_edit", place.pk, **entered, customer="999")
    assert response.headers["Location"] == place.get_absolute_url()
    customer_id = place.customer_id
    place.refresh_from_db()
    assert (place.street, place.city) == ("16 Heron Lane", "Pellbrook")
    assert place.customer_id == customer_id


def test_markup_typed_into_an_address_is_shown_as_text(
    office: Person, place: Property, entered: dict[str, str]
) -> None:
    send(office, "property_edit", place.pk, **entered | {"street": "<script>1 Road</script>"})
    page = ask(office, "property_edit", place.pk).content.decode()
    assert "<script>1 Road" not in page
    assert "&lt;script&gt;1 Road" in page


@pytest.mark.engine
def test_access_is_kept_line_by_line(office: Person, place: Property) -> None:
    notes = {
        "gate_code": "4711#",
        "lock_box": "Left of the door",
        "key_tag": "K-12",
        "parking": "On the street",
        "ask_for": "Pat Example",
        "notes": "Ring twice.\r\nThen wait.",
    }
    response = send(office, "property_access", place.pk, **notes)
    assert response.headers["Location"] == place.get_absolute_url()
    held = PropertyAccess.objects.get(property=place)
    kept = {name: getattr(held, name) for name in notes}
    assert kept == notes | {"notes": "Ring twice.\nThen wait."}
    page = ask(office, "property_access", place.pk)
    assert typed(page, "gate_code") == "4711#"
    assert send(office, "property_access", place.pk, parking="Yard").status_code == 302
    held.refresh_from_db()
    assert (held.gate_code, held.parking) == ("", "Yard")


def test_access_too_long_is_kept_on_the_page_only(office: Person, place: Property) -> None:
    response = send(office, "property_access", place.pk, gate_code="4" * 41, parking="Yard")
    assert list(errors(response)) == ["gate_code"]
    assert typed(response, "parking") == "Yard"
    assert not PropertyAccess.objects.exists()
