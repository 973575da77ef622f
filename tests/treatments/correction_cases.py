"""Records for tests, completed, corrected and voided."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from accounts.models import Person
from sites.rules.units import canonical
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, CorrectionRequest
from treatments.rules.corrections import Value
from treatments.rules.leaves import instant
from treatments.selectors.log import verify
from treatments.selectors.windows import protection_drift
from treatments.services.addenda import fill_gap
from treatments.services.corrections import approve, ask_correction, ask_void

LATER = NOW + timedelta(hours=1)


def ask(record: ApplicationRecord, by: Person, **facts: Value) -> CorrectionRequest:
    """Ask that a record say this."""
    return ask_correction(
        record_id=record.pk, facts=facts, reason="Read from the wrong line.", by=by, now=LATER
    )


def corrected(
    record: ApplicationRecord, by: Person, approver: Person, **facts: Value
) -> ApplicationRecord:
    """The record after an approved correction."""
    return approve(request_id=ask(record, by, **facts).pk, by=approver, now=LATER)


def fill(record: ApplicationRecord, by: Person, **facts: Value) -> ApplicationRecord:
    """The record after an addendum."""
    return fill_gap(record_id=record.pk, facts=facts, by=by, now=LATER, client_ref=uuid.uuid4())


def is_whole(house: House) -> bool:
    """Whether log and protections agree with the rows."""
    found = verify(house.place.branch_id)
    return found.is_whole and protection_drift() == []


def voided(record: ApplicationRecord, by: Person, approver: Person) -> ApplicationRecord:
    """The void of a record."""
    request = ask_void(record_id=record.pk, reason="Recorded twice.", by=by, now=LATER)
    return approve(request_id=request.pk, by=approver, now=LATER)


def canonical_fl_oz(text: str) -> int:
    """1 fl oz is 29,573.5295625 uL (NIST Handbook 44, Appendix C)."""
    return canonical(Decimal(text), "fl_oz")


def text(at: datetime) -> str:
    return instant(at)


def copy_of(record: ApplicationRecord, before: ApplicationRecord, entry: str) -> dict[str, Any]:
    """The columns of an entry somebody writes past the services."""
    columns = {
        field.name: getattr(record, field.name)
        for field in ApplicationRecord._meta.concrete_fields
        if field.name != "id"
    }
    return columns | {"client_ref": uuid.uuid4(), "entry": entry, "corrects": before}
