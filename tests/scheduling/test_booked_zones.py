"""Which visits to come count for what a label allows in a year."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from accounts.models import Branch, Person
from scheduling.models import Renewal, RenewalZone
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.selectors.booked_zones import booked_zones
from tests.factories import TODAY, make_visit
from tests.scheduling.views.rows import due_place

pytestmark = pytest.mark.django_db
SOON = TODAY + timedelta(days=7)


@pytest.fixture
def renewal(branch_ohio: Branch, technician: Person) -> Renewal:
    """A renewal of one zone of two."""
    due = due_place(branch_ohio, technician, zones=2, state=RenewalState.BOOKED)
    RenewalZone.objects.filter(pk=due.zones.order_by("-pk")[0].pk).delete()
    return due


def booked(renewal: Renewal, **changes: Any) -> tuple[tuple[int, object], ...]:
    zones = [zone.pk for zone in renewal.property.zones.all()]
    return booked_zones(zones, TODAY, **{"but_visit": 0} | changes)


def test_a_visit_of_a_renewal_counts_its_zones(renewal: Renewal, technician: Person) -> None:
    visit = make_visit(renewal.property, technician, SOON, renewal=renewal)
    due = renewal.zones.get().zone_id
    assert booked(renewal) == ((due, SOON),)
    assert booked(renewal, but_visit=visit.pk) == ()


@pytest.mark.parametrize("kind", ["first_service", "call_back"])
def test_a_visit_without_a_renewal_may_treat_every_zone(
    renewal: Renewal, technician: Person, kind: str
) -> None:
    make_visit(renewal.property, technician, SOON, kind=kind)
    zones = sorted(zone.pk for zone in renewal.property.zones.all())
    assert booked(renewal) == tuple((zone, SOON) for zone in zones)


@pytest.mark.parametrize(
    "changes",
    [
        {"kind": "inspection"},
        {"kind": "exclusion"},
        {"kind": "monitoring"},
        {"state": VisitState.CANCELED},
        {"state": VisitState.DONE},
        {"day": TODAY - timedelta(days=1)},
    ],
)
def test_what_treats_nothing_or_is_over_does_not_count(
    renewal: Renewal, technician: Person, changes: dict[str, Any]
) -> None:
    make_visit(renewal.property, technician, **{"day": SOON, "kind": "call_back"} | changes)
    assert booked(renewal) == ()


def test_two_visits_of_a_day_are_two_and_it_stays_one_query(
    renewal: Renewal, technician: Person, django_assert_num_queries: Any
) -> None:
    for hour in (13, 17):
        make_visit(renewal.property, technician, SOON, hour=hour, kind="call_back")
    make_visit(renewal.property, technician, SOON, renewal=renewal)
    due = renewal.zones.get().zone_id
    with django_assert_num_queries(1):
        found = booked_zones([due], TODAY, but_visit=0)
    assert found == ((due, SOON),) * 3
