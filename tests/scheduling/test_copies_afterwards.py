"""What becomes of a copy afterwards: it comes back, a paper answers it, the desk lists it."""

from __future__ import annotations

import pytest

from accounts.models import Contact, Notice, OpenItem, Person
from accounts.rules.notices import Evidence
from accounts.services.notices import note_evidence
from scheduling.services.copies import send_notices
from tests.scheduling.test_copies import (
    LATER,
    corrected,
    give,
    is_open,
    owner,
    record,
    visit,
)
from tests.treatments.conftest import house, make_house
from treatments.models import ApplicationRecord
from treatments.selectors.desk_copies import copies_list
from treatments.selectors.desk_records import histories_of

__all__ = ["house", "make_house", "owner", "record", "visit"]
pytestmark = pytest.mark.django_db


def test_a_corrected_copy_that_came_back_is_asked_for_again(
    record: ApplicationRecord,
    owner: Contact,
    technician: Person,
    manager: Person,
    office: Person,
) -> None:
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    after = corrected(record, technician, manager)
    send_notices(now=LATER)
    assert not is_open("corrected_copy")
    mailed = Notice.objects.get(kind="corrected_copy")
    note_evidence(notice_id=mailed.pk, kind=Evidence.BOUNCED, by=office, now=LATER)
    for _ in range(2):
        send_notices(now=LATER)
        assert is_open("corrected_copy") and is_open("notice_not_sent")
    give(after, technician, "phone", owner)  # only shown
    assert is_open("corrected_copy") and is_open("notice_not_sent")
    give(after, technician, "paper", owner)
    assert not is_open("corrected_copy") and not is_open("notice_not_sent")
    send_notices(now=LATER)
    assert not is_open("corrected_copy")


def test_what_a_person_closed_stays_closed(
    record: ApplicationRecord,
    owner: Contact,
    technician: Person,
    manager: Person,
    office: Person,
) -> None:
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    corrected(record, technician, manager)
    OpenItem.objects.filter(code="corrected_copy").update(closed_at=LATER, closed_note="Told him.")
    send_notices(now=LATER)
    mailed = Notice.objects.get(kind="corrected_copy")
    note_evidence(notice_id=mailed.pk, kind=Evidence.BOUNCED, by=office, now=LATER)
    send_notices(now=LATER)
    assert not is_open("corrected_copy")


def test_evidence_that_it_was_handed_over_closes_the_item_of_the_notice(
    record: ApplicationRecord, owner: Contact, technician: Person, office: Person
) -> None:
    mailed = give(record, technician, "email", owner)
    send_notices(now=LATER)
    note_evidence(notice_id=mailed.pk, kind=Evidence.BOUNCED, by=office, now=LATER)
    assert is_open("notice_not_sent")
    note_evidence(notice_id=mailed.pk, kind=Evidence.HANDED, by=office, now=LATER)
    assert not is_open("notice_not_sent")


def test_the_desk_lists_copies_with_their_evidence(
    record: ApplicationRecord, owner: Contact, technician: Person, manager: Person
) -> None:
    histories = histories_of([record.pk])
    [note] = copies_list(histories).missing
    assert note == "1 record of which no copy is known to have arrived."
    give(record, technician, "phone", owner)
    assert copies_list(histories).missing == (note,)
    give(record, technician, "email", owner)
    send_notices(now=LATER)
    after = corrected(record, technician, manager)
    found = copies_list(histories_of([record.pk, after.pk]))
    assert found.missing == ()
    shown, mailed, waiting = (dict(zip(found.head, row, strict=True)) for row in found.rows)
    assert shown["To whom"] == "Marta Ellwood" and shown["Leaves a copy"] == "no"
    said = "shown on the phone, Nov 25, 2026, 4:00 PM, by Terry Technician"
    assert shown["What is known of it"] == said
    assert mailed["Records"] == str(record.pk) and mailed["Leaves a copy"] == "yes"
    assert mailed["What is known of it"].startswith("taken by the mail server, Nov 25, 2026")
    assert waiting["Records"] == str(after.pk) and waiting["Leaves a copy"] == "no"
