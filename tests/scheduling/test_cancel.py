"""Taking back a booking, declining a renewal, and reopening it."""

from __future__ import annotations

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from scheduling.models import Shift
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.services.cancel import cancel_visit, decline_renewal, reopen_renewal
from sites.models import Property
from tests.factories import make_customer, make_property, make_renewal, make_shift
from tests.scheduling.bookings import DAY, NOW, book

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


@pytest.fixture
def friday(technician: Person) -> Shift:
    return make_shift(technician, DAY.weekday())


def test_cancel_gives_the_place_and_the_renewal_back(
    home: Property, technician: Person, office: Person, friday: Shift
) -> None:
    renewal = make_renewal(home)
    visit = book(technician, office, renewal_id=renewal.pk)
    cancel_visit(visit_id=visit.pk, reason="Customer away", by=office, now=NOW)
    visit.refresh_from_db()
    renewal.refresh_from_db()
    assert (visit.state, visit.ending_note) == (VisitState.CANCELED, "Customer away")
    assert renewal.state == RenewalState.DUE
    again = book(technician, office, renewal_id=renewal.pk)
    assert again.starts_at == visit.starts_at
    with pytest.raises(Refused):
        cancel_visit(visit_id=visit.pk, by=office, now=NOW)


def test_decline_and_reopen(home: Property, office: Person) -> None:
    renewal = make_renewal(home)
    with pytest.raises(Refused) as refused:
        decline_renewal(renewal_id=renewal.pk, reason="  ", by=office, now=NOW)
    assert refused.value.code == "no_reason"
    decline_renewal(renewal_id=renewal.pk, reason="Moved away", by=office, now=NOW)
    renewal.refresh_from_db()
    assert (renewal.state, renewal.closing_note) == (RenewalState.DECLINED, "Moved away")
    reopen_renewal(renewal_id=renewal.pk, by=office, now=NOW)
    renewal.refresh_from_db()
    assert (renewal.state, renewal.closing_note) == (RenewalState.DUE, "")
    with pytest.raises(Refused):
        reopen_renewal(renewal_id=renewal.pk, by=office, now=NOW)


def test_a_booked_renewal_is_not_declined(
    home: Property, technician: Person, office: Person, friday: Shift
) -> None:
    renewal = make_renewal(home)
    book(technician, renewal_id=renewal.pk)
    with pytest.raises(Refused, match="Cancel the visit first"):
        decline_renewal(renewal_id=renewal.pk, reason="No", by=office, now=NOW)
