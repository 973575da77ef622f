"""Programs and agreements for tests, made by the services."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from scheduling.models import ServiceAgreement, ServiceProgram
from scheduling.rules.agreements import Terms
from scheduling.services.agreements import (
    Acceptance,
    accept_agreement,
    add_program,
    draft_agreement,
    offer_agreement,
)
from sites.models import Property

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)
TODAY = NOW.date()
SCAN = b"%PDF-1.7 signed"
PROGRAM = {
    "name": "Exterior program",
    "pest_groups": ["overwintering", "ants"],
    "places": ["foundation_wall", "eave_soffit"],
    "methods": ["perimeter_band"],
    "by_residual": True,
    "every_days": None,
    "seasons": "",
}


def make_terms(**fields: Any) -> Terms:
    return Terms(
        **{
            "starts_on": date(2026, 11, 1),
            "months": 12,
            "renews": False,
            "notice_days": 30,
            "re_service": True,
            "price": Decimal("120.00"),
            "price_per": "service",
        }
        | fields
    )


def make_program(**fields: Any) -> ServiceProgram:
    number = ServiceProgram.objects.count() + 1
    return add_program(entered=PROGRAM | {"name": f"Program {number}"} | fields, by=None)


def make_offer(place: Property, **fields: Any) -> ServiceAgreement:
    """An agreement that was offered."""
    made = draft_agreement(
        property_id=place.pk, program_id=make_program().pk, terms=make_terms(**fields), by=None
    )
    offer_agreement(agreement_id=made.pk, by=None, now=NOW, today=TODAY, demo=True)
    made.refresh_from_db()
    return made


def make_signed(place: Property, **fields: Any) -> ServiceAgreement:
    """An agreement whose signed paper was scanned."""
    made = make_offer(place, **fields)
    given = Acceptance("paper", "Pat Example", made.papers.get().sha256, scan=SCAN)
    accept_agreement(agreement_id=made.pk, given=given, by=None, now=NOW)
    made.refresh_from_db()
    return made
