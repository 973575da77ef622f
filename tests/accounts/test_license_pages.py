"""Licenses: who enters them, what is refused, which one counts on a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from accounts.models import ApplicatorLicense, AuditEvent, Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from accounts.rules.register import Band
from accounts.selectors.pages import local_today
from accounts.selectors.people import license_in_force
from accounts.selectors.register import register_lines
from accounts.services.audit import name_of
from accounts.services.licenses import add_license
from tests.accounts.pages import ask, codes, errors, send, typed, words
from tests.factories import make_license, make_person

pytestmark = pytest.mark.django_db
CARD = {
    "kind": "certified",
    "number": "DEMO-77",
    "state": "oh",
    "categories": "10a",
    "issued_on": "2026-01-15",
    "expires_on": "2027-01-14",
    "supervisor": "",
}


def test_a_license_is_the_offices_to_change(
    manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    license = technician.licenses.get()
    asking = [manager, office, technician, stranger, None]
    assert codes(asking, "license_edit", license.pk) == [200, 200, 403, 403, 302]


def test_a_license_of_another_branch_is_not_there(
    manager: Person, office: Person, branch_penn: Branch
) -> None:
    far = make_license(make_person([Role.TECHNICIAN], branch_penn), "PA")
    assert codes([manager, office], "license_edit", far.pk) == [200, 404]
    assert send(office, "license_edit", far.pk, **CARD).status_code == 404


def test_a_license_is_added_as_on_its_card(office: Person, stranger: Person) -> None:
    response = send(office, "license_add", stranger.pk, **CARD)
    assert response.headers["Location"] == stranger.get_absolute_url()
    license = stranger.licenses.get()
    assert (str(license), license.kind, license.categories) == ("OH DEMO-77", "certified", "10a")
    assert (license.issued_on, license.expires_on) == (date(2026, 1, 15), date(2027, 1, 14))
    assert AuditEvent.objects.filter(act="license_added").count() == 1


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("number", "", "required"),
        ("state", "Ohio", "two letters"),
        ("state", "ZZ", "is not a state"),
        ("issued_on", "last spring", "write the day as 2026-11-12"),
        ("expires_on", "2026-01-14", "ends before it was issued"),
        ("kind", "wizard", "not one of the available choices"),
        ("supervisor", "999999", "choose one from this list"),
    ],
)
def test_a_card_typed_wrong_gets_a_sentence_and_is_kept(
    office: Person, stranger: Person, field: str, value: str, sentence: str
) -> None:
    entered = CARD | {field: value}
    response = send(office, "license_add", stranger.pk, **entered)
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert {name: typed(response, name) for name in CARD} == entered
    assert not stranger.licenses.exists()


def test_the_same_term_is_not_entered_twice(
    office: Person, stranger: Person, technician: Person
) -> None:
    send(office, "license_add", stranger.pk, **CARD)
    response = send(office, "license_add", technician.pk, **CARD)
    assert "is entered already" in " ".join(errors(response)["number"])
    renewed = CARD | {"issued_on": "2027-01-15", "expires_on": "2028-01-14"}
    assert send(office, "license_add", stranger.pk, **renewed).status_code == 302
    assert stranger.licenses.count() == 2


def test_nobody_is_in_charge_of_themselves(office: Person, technician: Person) -> None:
    offered = ask(office, "license_add", technician.pk).context["form"].fields["supervisor"].choices
    assert (technician.pk, technician.full_name) not in offered
    assert (office.pk, office.full_name) in offered
    with pytest.raises(Refused) as refused:
        add_license(
            person_id=technician.pk,
            kind="trainee",
            number="T-1",
            state="OH",
            issued_on=date(2026, 1, 1),
            expires_on=date(2026, 12, 31),
            supervisor_id=technician.pk,
            by=office,
        )
    assert refused.value.facts["field"] == "supervisor"


def test_a_license_is_changed_and_the_old_words_are_noted(
    office: Person, technician: Person
) -> None:
    license = technician.licenses.get()
    before = str(license)
    response = send(
        office,
        "license_edit",
        license.pk,
        **CARD,
    )
    assert response.headers["Location"] == technician.get_absolute_url()
    license.refresh_from_db()
    assert str(license) == "OH DEMO-77"
    event = AuditEvent.objects.get(act="license_edited")
    assert event.details["before"]["number"] == before
    assert event.details["told"]["number"] == "OH DEMO-77"


@pytest.mark.parametrize(
    ("days", "word"), [(-1, "expired"), (0, "0 d left"), (30, "30 d left"), (31, "in force")]
)
def test_the_page_says_in_words_how_long_a_license_holds(
    office: Person, stranger: Person, days: int, word: str
) -> None:
    today = local_today(stranger, timezone.now())
    make_license(stranger, issued_on=date(2026, 1, 1), expires_on=today + timedelta(days=days))
    assert word in words(ask(office, "person", stranger.pk))
    assert word in words(ask(office, "people"))


def test_a_license_counts_from_issue_to_expiry_both_included(stranger: Person) -> None:
    license = make_license(stranger, issued_on=date(2026, 3, 1), expires_on=date(2026, 3, 31))
    counting = {
        day: license_in_force(stranger.pk, "OH", day)
        for day in (date(2026, 2, 28), date(2026, 3, 1), date(2026, 3, 31), date(2026, 4, 1))
    }
    assert list(counting.values()) == [None, license, license, None]
    assert license_in_force(stranger.pk, "PA", date(2026, 3, 15)) is None


def test_who_may_decide_alone_is_asked_first(stranger: Person) -> None:
    for kind in ("trainee", "certified", "registered_technician"):
        make_license(stranger, kind=kind)
    found = license_in_force(stranger.pk, "OH", date(2026, 6, 1))
    assert found is not None
    assert found.kind == ApplicatorLicense.Kind.CERTIFIED


def test_expiring_are_those_that_end_soon_without_a_follower(branch_ohio: Branch) -> None:
    on = date(2026, 11, 25)
    people = [make_person([Role.TECHNICIAN], branch_ohio) for _ in range(5)]
    last_day = make_license(people[0], expires_on=on)
    at_the_edge = make_license(people[1], expires_on=on + timedelta(days=30))
    make_license(people[2], expires_on=on + timedelta(days=31))
    make_license(people[3], expires_on=on)
    make_license(people[3], issued_on=on, expires_on=on + timedelta(days=365))
    gone = make_license(people[4], expires_on=on)
    gone.person.is_active = False
    gone.person.save()
    make_license(people[0], "PA", expires_on=on - timedelta(days=1))
    soon = [one for one in register_lines(None, on) if one.band(on) in (Band.DAYS_7, Band.DAYS_30)]
    assert [one.thing for one in soon] == [name_of(last_day), name_of(at_the_edge)]
