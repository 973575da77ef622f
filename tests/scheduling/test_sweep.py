"""The sweep: from windows to renewals, once, whoever runs it how often."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from threading import Barrier

import pytest
from django.core.management import call_command
from django.db import connection

from accounts.models import AuditEvent, OpenItem, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling import tasks
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.services.sweep import SweepReport, sweep
from sites.models import Property, TreatableZone
from tests.factories import (
    TODAY,
    make_customer,
    make_property,
    make_record,
    make_visit,
    make_window,
    make_zone,
)
from treatments.models import ApplicationRecord, ResidualWindow
from treatments.services.protections import refresh_protections

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)


def run(today: date = TODAY) -> SweepReport:
    return sweep(today=today, now=NOW)


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


def treat(
    zone: TreatableZone, technician: Person, days_ago: int, days: int = 90, **fields: object
) -> ResidualWindow:
    """A record of some days ago with its window and the protection that follows."""
    record = make_record(zone, technician, applied_on=TODAY - timedelta(days=days_ago), **fields)
    window = make_window(record, days)
    refresh_protections([zone.pk])
    return window


def renewal_of(zone: TreatableZone) -> Renewal:
    return Renewal.objects.get(zones__zone=zone)


def test_a_window_that_lapses_soon_opens_one_renewal_with_its_reason(
    home: Property, technician: Person
) -> None:
    zone = make_zone(home, "Foundation")
    treat(zone, technician, days_ago=80)
    report = run()
    assert (report.opened, report.zones) == (1, 1)
    renewal = renewal_of(zone)
    # treated September 6; 90 days later is December 5; 7 days of margin before it is November 28
    assert renewal.reason == "Foundation: 90 d label claim from Sep 6, lapses Dec 5"
    assert (renewal.opens_on, renewal.due_on, renewal.lapses_on) == (
        TODAY,
        date(2026, 11, 28),
        date(2026, 12, 5),
    )


def test_a_window_that_holds_longer_opens_none(home: Property, technician: Person) -> None:
    treat(make_zone(home), technician, days_ago=59)
    assert run().is_quiet  # 31 days are left, one more than the lead
    treat(make_zone(home), technician, days_ago=60)
    assert run().opened == 1


def test_zones_of_a_property_that_one_visit_can_serve_are_one_renewal(
    home: Property, technician: Person
) -> None:
    for days_ago in (70, 75, 80):
        treat(make_zone(home), technician, days_ago)
    assert run().opened == 1
    assert RenewalZone.objects.count() == 3


def test_a_second_run_makes_nothing(home: Property, technician: Person) -> None:
    treat(make_zone(home), technician, days_ago=80)
    run()
    events = AuditEvent.objects.count()
    again = run()
    assert again.is_quiet
    assert again.sentence == "Sweep for 2026-11-25: nothing to do."
    assert (Renewal.objects.count(), AuditEvent.objects.count()) == (1, events)


def test_every_lapsing_window_has_exactly_one_renewal(technician: Person) -> None:
    """Brute force: windows of every age against the rule `expires - today <= 30`."""
    customer = make_customer(technician.branch)
    windows = [
        treat(make_zone(make_property(customer)), technician, days_ago, days)
        for days_ago in range(1, 130, 9)
        for days in (30, 60, 90)
    ]
    run()
    due = {one.pk for one in windows if (one.expires_on - TODAY).days <= 30}
    assert set(RenewalZone.objects.values_list("window_id", flat=True)) == due
    assert 0 < len(due) < len(windows)


def test_a_zone_that_lapses_later_joins_the_waiting_renewal(
    home: Property, technician: Person
) -> None:
    first, second = make_zone(home, "Foundation"), make_zone(home, "Eaves")
    treat(first, technician, days_ago=80)
    run()
    treat(second, technician, days_ago=62)
    report = run()
    assert (report.opened, report.joined) == (0, 1)
    renewal = Renewal.objects.get()
    assert renewal.reason == (
        "Foundation: 90 d label claim from Sep 6, lapses Dec 5; "
        "Eaves: 90 d label claim from Sep 24, lapses Dec 23"
    )
    assert renewal.due_on == date(2026, 11, 28)


def test_a_retired_zone_is_withdrawn_and_free_again(home: Property, technician: Person) -> None:
    zone = make_zone(home)
    treat(zone, technician, days_ago=80)
    run()
    TreatableZone.objects.filter(pk=zone.pk).update(retired_on=TODAY)
    assert run().withdrawn == 1
    assert Renewal.objects.get().state == RenewalState.WITHDRAWN
    TreatableZone.objects.filter(pk=zone.pk).update(retired_on=None)
    assert run().opened == 1


def test_a_renewal_whose_windows_were_all_followed_is_done(
    home: Property, technician: Person
) -> None:
    zone = make_zone(home)
    treat(zone, technician, days_ago=80)
    run()
    treat(zone, technician, days_ago=0)
    assert run().closed == 1
    renewal = Renewal.objects.get()
    assert (renewal.state, renewal.closing_note) == (
        RenewalState.DONE,
        "Every zone was treated again.",
    )


def test_a_renewal_partly_followed_keeps_the_zones_left_over(
    home: Property, technician: Person
) -> None:
    done, left = make_zone(home, "Foundation"), make_zone(home, "Eaves")
    treat(done, technician, days_ago=80)
    treat(left, technician, days_ago=75)
    run()
    treat(done, technician, days_ago=0)
    assert run().redated == 1
    renewal = Renewal.objects.get()
    assert renewal.state == RenewalState.DUE
    assert renewal.reason == "Eaves: 90 d label claim from Sep 11, lapses Dec 10"
    assert [line.zone for line in renewal.zones.all()] == [left]


def correct(window: ResidualWindow, technician: Person, days: int) -> ResidualWindow:
    """A correcting record of the same day with its own window."""
    area = window.treated_area
    assert area is not None
    record = make_record(
        window.zone,
        technician,
        applied_on=window.applied_on,
        corrects=area.record,
        entry=ApplicationRecord.Entry.CORRECTION,
    )
    fresh = make_window(record, days)
    refresh_protections([window.zone_id])
    return fresh


def test_a_corrected_record_withdraws_a_waiting_renewal(home: Property, technician: Person) -> None:
    window = treat(make_zone(home), technician, days_ago=80)
    run()
    correct(window, technician, days=180)
    report = run()
    assert (report.withdrawn, report.closed) == (1, 0)


def test_a_corrected_record_redates_a_booked_renewal_and_tells_the_office(
    home: Property, technician: Person
) -> None:
    window = treat(make_zone(home), technician, days_ago=80)
    run()
    renewal = Renewal.objects.get()
    Renewal.objects.update(state=RenewalState.BOOKED)
    visit = make_visit(home, technician, renewal=renewal)
    fresh = correct(window, technician, days=100)
    assert run().redated == 1
    renewal.refresh_from_db()
    assert (renewal.state, renewal.lapses_on) == (RenewalState.BOOKED, fresh.expires_on)
    assert Visit.objects.get(pk=visit.pk).state == VisitState.BOOKED
    assert OpenItem.objects.get().code == "booked_renewal_changed"
    assert run().is_quiet


def test_a_visit_under_way_is_left_alone(home: Property, technician: Person) -> None:
    zone = make_zone(home)
    treat(zone, technician, days_ago=80)
    run()
    renewal = Renewal.objects.get()
    Renewal.objects.update(state=RenewalState.BOOKED)
    make_visit(home, technician, renewal=renewal, state=VisitState.STARTED)
    treat(zone, technician, days_ago=0)
    assert run().is_quiet
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.BOOKED


def test_declined_renewals_do_not_come_back(home: Property, technician: Person) -> None:
    treat(make_zone(home), technician, days_ago=80)
    run()
    Renewal.objects.update(state=RenewalState.DECLINED)
    assert run().is_quiet
    assert Renewal.objects.count() == 1


def test_a_closed_account_is_not_renewed(home: Property, technician: Person) -> None:
    treat(make_zone(home), technician, days_ago=80)
    run()
    home.customer.status = "closed"
    home.customer.save()
    assert run().withdrawn == 1
    assert run().is_quiet
    home.customer.status = "active"
    home.customer.save()
    assert run().opened == 1


def test_a_renewal_without_windows_is_withdrawn(home: Property, technician: Person) -> None:
    treat(make_zone(home), technician, days_ago=80)
    run()
    RenewalZone.objects.all().delete()
    report = run()
    assert report.withdrawn == 1
    assert Renewal.objects.filter(state=RenewalState.WITHDRAWN).count() == 1


def test_a_booked_renewal_without_its_visit_is_due_again(
    home: Property, technician: Person
) -> None:
    treat(make_zone(home), technician, days_ago=80)
    run()
    Renewal.objects.update(state=RenewalState.BOOKED)
    make_visit(home, technician, renewal=Renewal.objects.get(), state=VisitState.CANCELED)
    assert run().returned == 1
    assert Renewal.objects.get().state == RenewalState.DUE


def test_leap_day_counts(home: Property, technician: Person) -> None:
    zone = make_zone(home)
    window = make_window(make_record(zone, technician, applied_on=date(2027, 12, 1)), 90)
    refresh_protections([zone.pk])
    # December 1, 2027 and 90 days: 30 left in December, 31 in January, then February 29, 2028
    assert window.expires_on == date(2028, 2, 29)
    assert run(date(2028, 1, 29)).is_quiet
    assert run(date(2028, 1, 30)).opened == 1
    assert renewal_of(zone).lapses_on == date(2028, 2, 29)


def test_the_number_of_queries_does_not_grow_with_properties(
    technician: Person, django_assert_max_num_queries: object
) -> None:
    customer = make_customer(technician.branch)
    for _ in range(30):
        treat(make_zone(make_property(customer)), technician, days_ago=80)
    with django_assert_max_num_queries(25):  # type: ignore[operator]
        assert run().opened == 30


def test_the_command_and_the_task_run_it(
    home: Property, technician: Person, capsys: pytest.CaptureFixture[str]
) -> None:
    treat(make_zone(home), technician, days_ago=80)
    call_command("sweep", "--today", "2026-11-25")
    assert capsys.readouterr().out.strip() == ("Sweep for 2026-11-25: opened 1 renewal for 1 zone.")
    tasks.sweep()
    assert Renewal.objects.count() == 1


def test_a_technician_may_not_sweep(technician: Person) -> None:
    assert technician.roles == {Role.TECHNICIAN}
    with pytest.raises(Refused):
        sweep(today=TODAY, now=NOW, by=technician)


def _sweep_at_once(gate: Barrier) -> SweepReport:
    try:
        gate.wait(timeout=20)
        return run()
    finally:
        connection.close()


@pytest.mark.django_db(transaction=True)
def test_two_sweeps_at_once_open_each_renewal_once(technician: Person) -> None:
    customer = make_customer(technician.branch)
    for _ in range(40):
        treat(make_zone(make_property(customer)), technician, days_ago=80)
    gate = Barrier(2)
    with ThreadPoolExecutor(2) as pool:
        reports = [one.result() for one in [pool.submit(_sweep_at_once, gate) for _ in range(2)]]
    assert sum(report.opened for report in reports) == 40
    assert Renewal.objects.count() == RenewalZone.objects.count() == 40
