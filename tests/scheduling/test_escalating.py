"""What is not booked by the lead time is an item of the office, one a branch."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from accounts.models import OpenItem, Person
from scheduling.models import Renewal
from scheduling.rules.visit_states import RenewalState
from scheduling.services.escalating import watch_unbooked
from scheduling.services.sweep import sweep_now
from tests.factories import TODAY, make_customer, make_property, make_renewal

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)


def items() -> list[str]:
    rows = OpenItem.objects.filter(code="renewals_not_booked", closed_at=None)
    return list(rows.values_list("sentence", flat=True))


def test_told_two_weeks_before_the_lapse_and_closed_when_booked(technician: Person) -> None:
    home = make_property(make_customer(technician.branch))
    renewal = make_renewal(home, lapses_on=TODAY + timedelta(days=15))
    assert watch_unbooked(today=TODAY, now=NOW) == 0
    assert items() == []
    tomorrow = TODAY + timedelta(days=1)
    assert watch_unbooked(today=tomorrow, now=NOW) == 1
    assert items() == [
        "1 renewal should be booked by now. The first lapse is that of Dec 10, 2026. "
        "Open Renewals, within 14 days, and book or decline."
    ]
    watch_unbooked(today=tomorrow, now=NOW)
    assert len(items()) == 1
    Renewal.objects.filter(pk=renewal.pk).update(state=RenewalState.BOOKED)
    watch_unbooked(today=tomorrow, now=NOW)
    assert items() == []


def test_says_how_many_have_lapsed(technician: Person) -> None:
    home = make_property(make_customer(technician.branch))
    for days in (-3, 0, 4):
        make_renewal(home, lapses_on=TODAY + timedelta(days=days))
    watch_unbooked(today=TODAY, now=NOW)
    assert items()[0].startswith("3 renewals should be booked by now, 2 of them lapsed already.")


def test_the_sweep_looks(technician: Person) -> None:
    home = make_property(make_customer(technician.branch))
    make_renewal(home, state=RenewalState.DECLINED, lapses_on=TODAY)
    assert watch_unbooked(today=TODAY, now=NOW) == 0
    # booked, but its visit is gone: the sweep gives it back to due, then tells of it
    make_renewal(home, state=RenewalState.BOOKED, lapses_on=TODAY)
    assert watch_unbooked(today=TODAY, now=NOW) == 0
    sweep_now(now=NOW)
    assert items()[0].startswith("1 renewal should be booked by now, 1 of them lapsed already.")
