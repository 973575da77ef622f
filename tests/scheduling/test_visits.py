"""Visits as people may see them, and how they begin and end."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.http import Http404

from accounts.models import Branch, Person
from accounts.refusals import Refused
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.selectors.visits import properties_within_reach, visit_for
from scheduling.services.visits import close_renewal_of, end_visit, start_visit
from sites.models import Property, TreatableZone
from tests.factories import (
    TODAY,
    make_customer,
    make_property,
    make_record,
    make_renewal,
    make_visit,
    make_window,
    make_zone,
)
from treatments.services.protections import refresh_protections

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


@pytest.fixture
def visit(home: Property, technician: Person) -> Visit:
    return make_visit(home, technician)


def test_a_technician_sees_only_their_own_visits(
    visit: Visit, technician: Person, other_technician: Person, stranger: Person
) -> None:
    assert visit_for(technician, visit.pk) == visit
    for person in (other_technician, stranger):
        with pytest.raises(Http404):
            visit_for(person, visit.pk)


def test_the_office_sees_the_visits_of_its_branch(
    visit: Visit, office: Person, manager: Person, technician: Person, branch_penn: Branch
) -> None:
    away = make_visit(make_property(make_customer(branch_penn)), technician, hour=20)
    assert visit_for(office, visit.pk) == visit
    with pytest.raises(Http404):
        visit_for(office, away.pk)
    assert visit_for(manager, away.pk) == away


def test_reach_is_seven_days_each_way(technician: Person, other_technician: Person) -> None:
    customer = make_customer(technician.branch)
    places = {n: make_property(customer) for n in (-8, -7, 0, 7, 8)}
    for days, place in places.items():
        make_visit(place, technician, TODAY + timedelta(days=days))
    canceled = make_property(customer)
    make_visit(canceled, technician, state=VisitState.CANCELED)
    make_visit(make_property(customer), other_technician)
    assert properties_within_reach(technician, TODAY) == {places[n].pk for n in (-7, 0, 7)}


def test_a_visit_is_started_once(visit: Visit, technician: Person) -> None:
    start_visit(visit_id=visit.pk, by=technician, now=NOW)
    later = NOW + timedelta(minutes=5)
    again = start_visit(visit_id=visit.pk, by=technician, now=later)
    assert (again.state, again.started_at) == (VisitState.STARTED, NOW)


def test_a_canceled_visit_does_not_start(visit: Visit, technician: Person) -> None:
    Visit.objects.update(state=VisitState.CANCELED)
    with pytest.raises(Refused) as refused:
        start_visit(visit_id=visit.pk, by=technician, now=NOW)
    assert refused.value.code == "visit_state"


def test_nobody_starts_or_ends_the_visit_of_another(
    visit: Visit, other_technician: Person, office: Person
) -> None:
    with pytest.raises(Http404):
        start_visit(visit_id=visit.pk, by=other_technician, now=NOW)
    with pytest.raises(Refused):
        end_visit(visit_id=visit.pk, state=VisitState.DONE, by=office, now=NOW)


@pytest.mark.parametrize("state", [VisitState.PART_DONE, VisitState.NOT_DONE])
def test_an_ending_short_of_done_needs_its_reason(
    visit: Visit, technician: Person, state: VisitState
) -> None:
    with pytest.raises(Refused) as refused:
        end_visit(visit_id=visit.pk, state=state, note=" ", by=technician, now=NOW)
    assert refused.value.code == "no_reason"
    ended = end_visit(visit_id=visit.pk, state=state, note="locked", by=technician, now=NOW)
    assert (ended.state, ended.ending_note, ended.finished_at) == (state, "locked", NOW)


def test_a_visit_ends_in_an_ending(visit: Visit, technician: Person) -> None:
    with pytest.raises(Refused):
        end_visit(visit_id=visit.pk, state=VisitState.STARTED, note="x", by=technician, now=NOW)
    end_visit(visit_id=visit.pk, state=VisitState.DONE, by=technician, now=NOW)
    with pytest.raises(Refused):
        end_visit(visit_id=visit.pk, state=VisitState.DONE, by=technician, now=NOW)


def _due(zone: TreatableZone, technician: Person, renewal: Renewal) -> None:
    window = make_window(make_record(zone, technician, applied_on=TODAY - timedelta(days=80)))
    RenewalZone.objects.create(renewal=renewal, zone=zone, window=window)
    refresh_protections([zone.pk])


def _treated(zone: TreatableZone, technician: Person) -> None:
    make_window(make_record(zone, technician, applied_on=TODAY))
    refresh_protections([zone.pk])


@pytest.fixture
def booked(home: Property, technician: Person) -> Renewal:
    renewal = make_renewal(home, state=RenewalState.BOOKED)
    for name in ("Foundation", "Eaves"):
        _due(make_zone(home, name), technician, renewal)
    make_visit(home, technician, renewal=renewal)
    return renewal


def _end(renewal: Renewal, technician: Person, state: VisitState = VisitState.DONE) -> Renewal:
    visit = renewal.visits.get()
    end_visit(visit_id=visit.pk, state=state, note="nobody home", by=technician, now=NOW)
    close_renewal_of(visit_id=visit.pk, by=technician, now=NOW)
    renewal.refresh_from_db()
    return renewal


def test_a_renewal_is_done_when_all_its_zones_were_treated(
    booked: Renewal, technician: Person
) -> None:
    for line in booked.zones.all():
        _treated(line.zone, technician)
    assert _end(booked, technician).state == RenewalState.DONE


def test_zones_left_over_go_back_to_due(booked: Renewal, technician: Person) -> None:
    treated, left = [line.zone for line in booked.zones.order_by("pk")]
    _treated(treated, technician)
    renewal = _end(booked, technician, VisitState.PART_DONE)
    assert renewal.state == RenewalState.DUE
    assert [line.zone for line in renewal.zones.all()] == [left]
    assert renewal.reason == "Eaves: 90 d label claim from Sep 6, lapses Dec 5"


def test_work_without_a_residual_leaves_the_renewal_due(
    booked: Renewal, technician: Person
) -> None:
    renewal = _end(booked, technician)
    assert renewal.state == RenewalState.DUE
    assert renewal.zones.count() == 2


def test_not_done_gives_the_renewal_back_at_once(booked: Renewal, technician: Person) -> None:
    visit = booked.visits.get()
    end_visit(visit_id=visit.pk, state=VisitState.NOT_DONE, note="locked", by=technician, now=NOW)
    booked.refresh_from_db()
    assert booked.state == RenewalState.DUE


def test_a_visit_without_renewal_closes_nothing(visit: Visit, technician: Person) -> None:
    end_visit(visit_id=visit.pk, state=VisitState.DONE, by=technician, now=NOW)
    assert close_renewal_of(visit_id=visit.pk, by=technician, now=NOW) is None
