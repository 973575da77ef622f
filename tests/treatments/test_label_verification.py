"""Who verifies a label: a second person, or in a one-person firm who entered it, a day later."""

from __future__ import annotations

from dataclasses import replace

import pytest
import time_machine
from django.db import IntegrityError, transaction

from accounts.models import Branch, OpenItem, Person
from accounts.permissions import Role
from tests.factories import client_for, make_person
from tests.treatments.label_entries import DAY, ENTERED, TODAY, refused_by
from treatments.models import (
    LabelVerification,
    LabelVersion,
)
from treatments.selectors.label_copies import direction_as_entered
from treatments.services.label_rows import edit_direction
from treatments.services.label_verification import verify_label
from treatments.services.labels import edit_label

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_alone_in_the_firm_one_verifies_a_day_after_the_entry(
    version: LabelVersion, manager: Person, office: Person
) -> None:
    early = {"label_version_id": version.pk, "by": manager, "now": ENTERED + DAY * 0.99}
    assert "24 hours after" in refused_by(verify_label, **early).sentence
    seen = verify_label(label_version_id=version.pk, by=manager, now=ENTERED + DAY)
    assert seen.is_one_person_firm
    item = OpenItem.objects.get(closed_at=None)
    assert (item.code, item.branch) == ("one_person_firm", manager.branch)
    page = client_for(office).get(version.get_absolute_url()).content.decode()
    assert "Morgan Manager (one-person firm)" in page
    assert "One-person firm" in client_for(office).get("/labels/").content.decode()
    again = {"label_version_id": version.pk, "by": manager, "now": ENTERED + 2 * DAY}
    assert refused_by(verify_label, **again).sentence == "You verified this label already."


def test_a_change_begins_the_24_hours_again(version: LabelVersion, manager: Person) -> None:
    with time_machine.travel(ENTERED + DAY / 2, tick=False):
        edit_label(label_version_id=version.pk, by=manager, today=TODAY, precautions="Bees.")
    early = {"label_version_id": version.pk, "by": manager, "now": ENTERED + DAY}
    assert refused_by(verify_label, **early).code == "second_person"
    assert verify_label(label_version_id=version.pk, by=manager, now=ENTERED + DAY * 1.5)


def test_two_who_may_verify_are_no_one_person_firm(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    late = {"label_version_id": version.pk, "by": manager, "now": ENTERED + 9 * DAY}
    assert "Somebody else" in refused_by(verify_label, **late).sentence
    Person.objects.filter(pk=second.pk).update(is_active=False)
    assert verify_label(**late).is_one_person_firm


def test_a_second_person_closes_what_a_one_person_firm_left_open(
    version: LabelVersion, manager: Person, branch_ohio: Branch
) -> None:
    verify_label(label_version_id=version.pk, by=manager, now=ENTERED + DAY)
    helen = make_person([Role.MANAGER], branch_ohio, "Helen Sorrel")
    page = client_for(helen).get(version.get_absolute_url()).content.decode()
    assert "Verify against the paper" in page
    seen = verify_label(label_version_id=version.pk, by=helen, now=ENTERED + 2 * DAY)
    assert not seen.is_one_person_firm
    assert OpenItem.objects.get().closed_note == "Verified."


def test_the_mark_never_changes(version: LabelVersion, manager: Person) -> None:
    verify_label(label_version_id=version.pk, by=manager, now=ENTERED + DAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        LabelVerification.objects.update(is_one_person_firm=False)


def test_who_wrote_what_another_wrote_anew_is_no_second_person(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    """The rows name who wrote them last; who wrote them first stays out all the same."""
    use = version.uses.get()
    changed = replace(direction_as_entered(use), residual_days=60)
    edit_direction(label_use_id=use.pk, direction=changed, by=second, today=TODAY)
    edit_label(label_version_id=version.pk, by=second, today=TODAY, precautions="Bees.")
    version.limits.update(created_by=second)
    for person in (manager, second):
        late = {"label_version_id": version.pk, "by": person, "now": ENTERED + 9 * DAY}
        assert refused_by(verify_label, **late).code == "second_person"
