"""Planning a day: promises kept, checked independently, the same twice, the rest named."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import AuditEvent, Branch, OpenItem, Person
from accounts.refusals import Refused
from scheduling.models import Route, RouteStop, TimeOff, Visit
from scheduling.rules.visit_states import VisitState
from scheduling.services import planning
from scheduling.services.planning import PlanBrokenError, PlanReport, plan_day
from sites.models import Property
from tests.factories import make_customer, make_property, make_shift, make_visit

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
DAY = date(2026, 11, 27)


def at(hour: int, minute: int = 0) -> datetime:
    """Wall clock of Columbus on the day, five hours behind UTC."""
    return datetime(2026, 11, 27, hour + 5, minute, tzinfo=UTC)


@pytest.fixture(autouse=True)
def crew(technician: Person, other_technician: Person, branch_ohio: Branch) -> None:
    branch_ohio.latitude, branch_ohio.longitude = Decimal("40.0"), Decimal("-83.0")
    branch_ohio.save()
    for person in (technician, other_technician):
        make_shift(person, DAY.weekday())


def place(north: int) -> Property:
    """A property so many hundredths of a degree north of the shop: 1.112 km each."""
    branch = Branch.objects.get(name="Columbus")
    return make_property(
        make_customer(branch),
        latitude=Decimal("40.0") + Decimal(north) / 100,
        longitude=Decimal("-83.0"),
    )


def promise(person: Person, north: int, opens: int = 8, closes: int = 17, **more: object) -> Visit:
    return make_visit(
        place(north),
        person,
        DAY,
        window_opens_at=at(opens),
        window_closes_at=at(closes),
        minutes=30,
        **more,
    )


def plan(by: Person | None = None) -> PlanReport:
    return plan_day(day=DAY, by=by, now=NOW)


def order(person: Person) -> list[int]:
    stops = RouteStop.objects.filter(route__technician=person, route__day=DAY)
    return list(stops.order_by("position").values_list("visit_id", flat=True))


def test_stops_on_a_line_are_driven_once_up_and_down(technician: Person) -> None:
    far, near, middle = (promise(technician, north) for north in (30, 10, 20))
    report = plan()
    assert order(technician) in (
        [near.pk, middle.pk, far.pk],
        [far.pk, middle.pk, near.pk],
        [near.pk, far.pk, middle.pk],
        [middle.pk, far.pk, near.pk],
    )
    route = Route.objects.get()
    # 0.3 degrees of the mean radius 6371.0088 km are 33.359 km; x 1.3 / 48 km/h = 54.2 min, and
    # every leg is rounded up to a whole minute: three legs of 19 up, 55 home, or the same turned
    assert route.drive_minutes == 3 * 19 + 55
    assert report.branches[0].moved == 3


def test_every_visit_keeps_its_technician_and_begins_in_its_window(
    technician: Person, other_technician: Person
) -> None:
    visits = [
        promise(technician, 10, 8, 10),
        promise(technician, 30, 8, 12),
        promise(other_technician, 10, 13, 15),
        promise(technician, 20, 13, 14),
    ]
    plan()
    for before in visits:
        visit = Visit.objects.get(pk=before.pk)
        assert visit.technician_id == before.technician_id
        assert visit.starts_at is not None
        assert visit.window_opens_at <= visit.starts_at <= visit.window_closes_at
        assert visit.ends_at == visit.starts_at + timedelta(minutes=30)
        assert visit.starts_at.second == 0


def test_a_second_run_moves_nothing(technician: Person, other_technician: Person) -> None:
    for north in (40, 10, 30, 20):
        promise(technician, north)
        promise(other_technician, -north, 9, 12)
    plan()
    before = list(Visit.objects.order_by("pk").values_list("pk", "starts_at", "ends_at"))
    stops = list(RouteStop.objects.order_by("visit").values_list("visit", "position"))
    again = plan()
    assert again.branches[0].moved == 0
    assert list(Visit.objects.order_by("pk").values_list("pk", "starts_at", "ends_at")) == before
    assert list(RouteStop.objects.order_by("visit").values_list("visit", "position")) == stops
    assert AuditEvent.objects.filter(act="plan_routes").count() == 1


def test_visits_swap_their_times_although_they_may_not_overlap(technician: Person) -> None:
    """The guard on planned work allows no overlap at any instant, so times are cleared first."""
    late = promise(technician, 10, 8, 9, starts_at=at(9, 30), ends_at=at(10))
    early = promise(technician, 12, 9, 10, starts_at=at(8, 30), ends_at=at(9, 0))
    plan()
    late.refresh_from_db()
    early.refresh_from_db()
    assert late.starts_at is not None
    assert early.starts_at is not None
    assert at(8) <= late.starts_at <= at(9) <= early.starts_at <= at(10)


def test_a_visit_without_a_place_is_named_and_loses_its_time(technician: Person) -> None:
    first = promise(technician, 10, 9, 10)
    Visit.objects.filter(pk=first.pk).update(minutes=180)
    rest = [promise(technician, 200, 9, 10, starts_at=at(14), ends_at=at(14, 30))]
    report = plan()
    (gone,) = report.branches[0].left_out
    assert gone.visit.pk == rest[0].pk
    assert gone.reason
    left = Visit.objects.get(pk=rest[0].pk)
    assert (left.starts_at, left.state) == (None, VisitState.BOOKED)
    assert any(line.startswith("  No place: ") for line in report.lines())


def test_nobody_works_on_time_off(technician: Person) -> None:
    promise(technician, 10)
    TimeOff.objects.create(technician=technician, starts_on=DAY, ends_on=DAY)
    (gone,) = plan().branches[0].left_out
    assert gone.reason.startswith("The technician promised to this customer does not work")
    assert Route.objects.count() == 0


def test_a_visit_whose_license_ended_since_is_named_and_stays_as_planned(
    technician: Person, other_technician: Person
) -> None:
    visit = promise(technician, 10)
    promise(other_technician, 10)
    technician.licenses.update(expires_on=date(2026, 11, 26), number="ENDED-7")
    for _ in range(2):
        report = plan()
        (barred,) = report.branches[0].unlicensed
        assert barred.visit.pk == visit.pk
        assert barred.reason.startswith(
            "Terry Technician's OH license ENDED-7 expires on Nov 26, 2026 and is not in force"
        )
        assert any(line.startswith("  No license: ") for line in report.lines())
    assert order(technician) == [visit.pk]
    assert Visit.objects.get(pk=visit.pk).state == VisitState.BOOKED
    item = OpenItem.objects.get()
    assert (item.code, item.thing) == ("visit_without_license", f"scheduling.visit:{visit.pk}")


def test_a_license_counts_on_its_last_day(technician: Person) -> None:
    promise(technician, 10)
    technician.licenses.update(expires_on=DAY)
    assert plan().branches[0].unlicensed == ()


def test_a_visit_under_way_is_not_named_for_its_license(technician: Person) -> None:
    promise(technician, 30, state=VisitState.STARTED, starts_at=at(9), ends_at=at(9, 30))
    technician.licenses.update(expires_on=date(2026, 11, 26))
    assert plan().branches[0].unlicensed == ()


def test_licenses_take_one_query_however_many_visits(
    technician: Person, other_technician: Person
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            plan()
        return sum('FROM "accounts_applicatorlicense"' in one["sql"] for one in caught)

    promise(technician, 10)
    assert queries() == 1
    for north in (20, 30):
        promise(technician, north)
        promise(other_technician, north)
    assert queries() == 1


def test_a_visit_that_began_stays_where_it_was(technician: Person) -> None:
    begun = promise(technician, 30, state=VisitState.STARTED, starts_at=at(9), ends_at=at(9, 30))
    promise(technician, 10)
    plan()
    begun.refresh_from_db()
    assert begun.starts_at == at(9)
    assert begun.pk in order(technician)


def test_a_plan_that_fails_its_check_is_never_stored(
    technician: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    promise(technician, 10)
    monkeypatch.setattr(planning, "verify", lambda problem, found: ("broken",))
    with pytest.raises(PlanBrokenError):
        plan()
    assert Route.objects.count() == 0
    assert Visit.objects.get().starts_at is None


def test_a_branch_is_planned_alone(
    technician: Person, branch_penn: Branch, branch_ohio: Branch
) -> None:
    promise(technician, 10)
    assert plan_day(day=DAY, branch_id=branch_penn.pk, by=None, now=NOW).branches[0].moved == 0
    assert plan_day(day=DAY, branch_id=branch_ohio.pk, by=None, now=NOW).branches[0].moved == 1


def test_who_may_not_plan_is_refused(technician: Person) -> None:
    with pytest.raises(Refused):
        plan(technician)


@time_machine.travel("2026-11-25T17:00:00+00:00", tick=False)
def test_the_command_prints_the_order(
    technician: Person, capsys: pytest.CaptureFixture[str]
) -> None:
    visit = promise(technician, 10, 9, 11)
    call_command("plan_routes", "--date", "2026-11-27", "--branch", "Columbus")
    out = capsys.readouterr().out
    assert "Columbus, Fri, Nov 27, 2026: 1 visit moved." in out
    assert "  Terry Technician: 1 stop, 38 min of driving" in out
    assert f"    1. 9:00 AM  {visit.property.address}, 30 min, drive 19 min" in out
    with pytest.raises(CommandError, match="no branch called Akron"):
        call_command("plan_routes", "--date", "2026-11-27", "--branch", "Akron")
