"""Notices for tests, made straight through the tables."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import count
from typing import Any

from accounts.models import Notice, NoticeEvidence
from treatments.models import ApplicationRecord, RecordCopy

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
_numbers = count(1)


def make_notice(record: ApplicationRecord, **fields: Any) -> Notice:
    """A copy of the record that waits to be sent to the owner, with a paper."""
    customer = record.property.customer
    return Notice.objects.create(
        **{
            "branch": record.branch,
            "customer": customer,
            "kind": "copy",
            "way": "email",
            "state": "waiting",
            "about": f"treatments.applicationrecord:{record.pk}",
            "unique_key": f"copy:{next(_numbers)}",
            "to_name": "Pat Example",
            "to_email": "owner@customer.example",
            "subject": "Your copy",
            "body": "With this is your copy.",
            "attachment": b"%PDF-1.7",
            "attachment_name": "copy.pdf",
            "attachment_type": "application/pdf",
        }
        | fields
    )


def make_evidence(record: ApplicationRecord) -> NoticeEvidence:
    """A copy of the record that was shown."""
    return NoticeEvidence.objects.create(notice=make_notice(record), kind="shown", at=NOON)


def make_copy(record: ApplicationRecord) -> RecordCopy:
    """A notice that carries this entry."""
    return RecordCopy.objects.create(record=record, notice=make_notice(record))
