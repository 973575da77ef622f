"""Closed periods: nothing dated inside changes until it is reopened with a reason."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from accounts.models import OpenItem, Person
from tests.refusing import refused
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import LATER, ask, corrected, fill, text
from tests.treatments.test_log import behind_the_guards
from treatments.models import ApplicationRecord, LogEntry, PeriodClose
from treatments.selectors.log import verify
from treatments.selectors.periods import closed_through
from treatments.services.corrections import approve, ask_void
from treatments.services.periods import close_period, reopen_period
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY = date(2026, 11, 25)
TOMORROW = NOW + timedelta(days=1)


def close(house: House, by: Person, through: date = TODAY) -> PeriodClose:
    branch_id = house.place.branch_id
    return close_period(branch_id=branch_id, through=through, by=by, now=TOMORROW)


def test_nothing_inside_changes(
    house: House, record: ApplicationRecord, manager: Person, second: Person
) -> None:
    close(house, manager)
    with refused("period_closed"):
        fill(record, house.technician, wind_mph="4")
    with refused("period_closed"):
        ask(record, house.technician, wind_mph="4")
    with refused("period_closed"):
        ask_void(record_id=record.pk, reason="Twice.", by=second, now=LATER)
    assert ApplicationRecord.objects.count() == 1


def test_what_was_asked_before_is_not_approved_after(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    request = ask(record, house.technician, wind_mph="4")
    with refused("period", "through"):
        close(house, manager)
    PeriodClose.objects.create(branch=house.place.branch, kind="close", through=TODAY)
    with refused("period_closed"):
        approve(request_id=request.pk, by=manager, now=LATER)


def test_nothing_is_moved_into_a_closed_period(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    close(house, manager, TODAY - timedelta(days=1))
    earlier = {
        name: text(getattr(record, name) - timedelta(days=3))
        for name in ("started_at", "finished_at")
    }
    with refused("period_closed"):
        ask(record, house.technician, **earlier)
    assert corrected(record, house.technician, manager, wind_mph="4").wind_mph == "4"


def test_a_late_record_is_stored_and_told(house: House, manager: Person) -> None:
    close(house, manager)
    record_application(application=house.application(), by=house.technician, now=TOMORROW)
    assert ApplicationRecord.objects.count() == 1
    assert OpenItem.objects.get(code="record_in_closed_period").closed_at is None


def test_reopening_says_why_and_from_when(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    close(house, manager)
    branch_id = house.place.branch_id
    again = {"branch_id": branch_id, "by": manager, "now": TOMORROW}
    with refused("reason", "reason"):
        reopen_period(from_day=TODAY, reason="", **again)
    with refused("period", "from_day"):
        reopen_period(from_day=TODAY + timedelta(days=1), reason="Late sheet.", **again)
    reopen_period(from_day=TODAY, reason="Late sheet.", **again)
    assert closed_through(branch_id) == TODAY - timedelta(days=1)
    assert fill(record, house.technician, wind_mph="4").wind_mph == "4"
    kinds = list(LogEntry.objects.order_by("seq").values_list("kind", flat=True))
    assert kinds == ["record", "period", "period", "addendum"]
    assert verify(branch_id).is_whole


def test_a_period_changed_behind_the_guards_is_found(house: House, manager: Person) -> None:
    row = close(house, manager)
    behind_the_guards("UPDATE treatments_periodclose SET through = '2020-01-01'")
    found = verify(house.place.branch_id)
    assert found.difference == f"Closed period {row.pk} is not in the table as it is in the log."


def test_only_days_that_are_over_and_further_are_closed(house: House, manager: Person) -> None:
    with refused("period", "through"):
        close(house, manager, TODAY + timedelta(days=1))
    close(house, manager)
    with refused("period", "through"):
        close(house, manager)


def test_only_a_manager_closes(house: House, office: Person) -> None:
    for person in (office, house.technician):
        with refused("not_permitted"):
            close(house, person)


def test_a_row_never_changes(house: House, manager: Person) -> None:
    row = close(house, manager)
    for attack in (
        lambda: PeriodClose.objects.filter(pk=row.pk).update(through=date(2020, 1, 1)),
        lambda: PeriodClose.objects.filter(pk=row.pk)._raw_delete("default"),
        lambda: PeriodClose.objects.create(branch=house.place.branch, kind="reopen"),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            attack()
