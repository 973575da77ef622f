"""Keepers of hives are told the day before: asked at booking and mix, kept who was told."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from accounts.models import AuditEvent, OpenItem, Person
from accounts.services.open_items import close_item
from scheduling.models import Visit
from scheduling.services.cancel import cancel_visit
from scheduling.services.keepers import KEEPERS, NOT_NEEDED, keep_all_keepers, mix_at_stop
from sites.models import Property, SiteCaution
from tests.factories import (
    make_customer,
    make_label,
    make_product,
    make_property,
    make_shift,
    make_visit,
    make_zone,
)
from tests.scheduling.bookings import DAY, NOW, book
from treatments.models import LabelLimit, LabelUse
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Mixing

pytestmark = pytest.mark.django_db
TOLD = "Told Ada Keeper by phone, Nov 26, 2:10 PM."


@pytest.fixture
def place(technician: Person) -> Property:
    """A band outside, hives noted."""
    found = make_property(make_customer(technician.branch))
    make_zone(found)
    SiteCaution.objects.create(property=found, kind="bees", note="Two hives by the fence")
    make_shift(technician, DAY.weekday())
    return found


def items() -> list[OpenItem]:
    return list(OpenItem.objects.filter(code=KEEPERS).order_by("pk"))


def told(item: OpenItem, by: Person) -> None:
    close_item(item_id=item.pk, note=TOLD, by=by, now=NOW)


def with_bees(use: LabelUse) -> LabelUse:
    LabelLimit.objects.create(
        label_version=use.label_version, fact="bees_foraging", comparison="forbidden", limit=0,
        severity="refuse", sentence="Not while bees forage.", page="p. 5",
    )  # fmt: skip
    return use


def mix(use: LabelUse, visit: Visit, by: Person, ref: uuid.UUID | None = None) -> None:
    mixing = Mixing(
        ref or uuid.uuid4(), use.pk, Entered("0.8", "fl_oz"), Entered("1", "gal"), NOW,
        visit_ref=str(visit.ref),
    )  # fmt: skip
    mix_at_stop(mixing=mixing, visit_id=visit.pk, by=by, now=NOW)


def test_booking_asks_to_tell_the_keepers_and_keeps_who_was_told(
    place: Property, technician: Person, office: Person
) -> None:
    visit = book(technician, office, property_id=place.pk)
    (item,) = items()
    assert item.branch_id == place.branch_id and item.thing == f"scheduling.visit:{visit.pk}"
    assert "booked there on Nov 27, 2026: tell their keepers by Nov 26, 2026" in item.sentence
    told(item, office)
    keep_all_keepers(now=NOW + timedelta(hours=1))
    (item,) = items()
    assert (item.closed_at, item.closed_note) == (NOW, TOLD)
    assert AuditEvent.objects.get(act="close_item").person_name == office.full_name


def test_another_day_is_told_anew_and_a_canceled_visit_is_not(
    place: Property, technician: Person, office: Person
) -> None:
    visit = book(technician, office, property_id=place.pk)
    told(items()[0], office)
    Visit.objects.filter(pk=visit.pk).update(day=DAY + timedelta(days=3))
    keep_all_keepers(now=NOW)
    assert "Nov 30, 2026" in items()[1].sentence and items()[1].closed_at is None
    cancel_visit(visit_id=visit.pk, by=office, now=NOW)
    assert items()[1].closed_note == NOT_NEEDED


@pytest.mark.parametrize("why", ["no hives", "inside only", "an inspection"])
def test_nobody_is_asked_without_need(
    place: Property, technician: Person, office: Person, why: str
) -> None:
    if why == "no hives":
        SiteCaution.objects.all().delete()
    if why == "inside only":
        place.zones.update(place="interior_spot")
    kind = {"kind": "inspection"} if why == "an inspection" else {}
    book(technician, office, property_id=place.pk, **kind)
    assert items() == []


def test_a_caution_noted_after_the_booking_is_found_by_the_sweep(
    place: Property, technician: Person, office: Person
) -> None:
    SiteCaution.objects.all().delete()
    book(technician, office, property_id=place.pk)
    SiteCaution.objects.create(property=place, kind="bees", note="New hives")
    keep_all_keepers(now=NOW)
    assert len(items()) == 1


@pytest.mark.parametrize("named", [True, False], ids=("limit", "no limit"))
def test_a_mix_with_a_limit_for_bees_asks_where_nobody_was_asked(
    place: Property, technician: Person, named: bool
) -> None:
    use = make_label(make_product())
    if named:
        with_bees(use)
    visit = make_visit(place, technician, day=NOW.date())
    ref = uuid.uuid4()
    mix(use, visit, technician, ref)
    mix(use, visit, technician, ref)  # sent again: nothing is asked twice
    assert len(items()) == named
    if named:
        assert (
            f"{use.label_version.product.name} was mixed for {place.street}" in items()[0].sentence
        )


def test_who_was_told_of_the_visit_is_not_asked_again_at_the_mix(
    place: Property, technician: Person, office: Person
) -> None:
    visit = book(technician, office, property_id=place.pk)
    told(items()[0], office)
    mix(with_bees(make_label(make_product())), visit, technician)
    assert len(items()) == 1
