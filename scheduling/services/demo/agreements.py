"""Programs of the invented firm, and agreements in each state."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from scheduling.models import ServiceAgreement, Visit
from scheduling.rules.agreements import Terms
from scheduling.services.agreement_watch import watch_agreements
from scheduling.services.agreements import (
    Acceptance,
    accept_agreement,
    add_program,
    draft_agreement,
    offer_agreement,
    pause_agreement,
)

if TYPE_CHECKING:
    from scheduling.services.demo.firm import Firm
    from sites.models import Property

OFFICE = "office@demo.example"
EXTERIOR: dict[str, Any] = {
    "name": "Demonstration exterior program",
    "pest_groups": ["overwintering", "ants", "spiders"],
    "places": ["foundation_wall", "eave_soffit", "entry_point"],
    "methods": ["perimeter_band", "spot"],
    "by_residual": True,
    "every_days": None,
    "seasons": "09-01 to 10-15",
}
QUARTERLY: dict[str, Any] = {
    "name": "Demonstration kitchen program",
    "pest_groups": ["cockroaches", "flies"],
    "places": ["crack_crevice", "food_area"],
    "methods": ["bait", "crack_crevice"],
    "by_residual": False,
    "every_days": 91,
    "seasons": "",
}
DRAWN = "M60 130L90 60L120 130L150 70L180 125L215 85L250 120L300 95L350 118L430 100"
# how each was accepted, months of the term that are over; the one nearly over shows its renewal
SIGNED = (("drawn", 2), ("paper", 11), ("email", 5), ("typed", 1), ("typed", 6))
SCAN = b"%PDF-1.4 demonstration scan of a signed paper"


@dataclass(frozen=True)
class _Maker:
    firm: Firm
    today: date
    now: datetime
    programs: tuple[int, int]

    def draft(self, place: Property, months_ago: int = 0) -> ServiceAgreement:
        is_business = place.customer.kind == "commercial"
        return draft_agreement(
            property_id=place.pk,
            program_id=self.programs[is_business],
            terms=Terms(
                starts_on=self.today - timedelta(days=30 * months_ago),
                months=12,
                renews=is_business,
                notice_days=30,
                re_service=True,
                price=Decimal("180.00" if is_business else "120.00"),
                price_per="service",
            ),
            by=self.firm.people[OFFICE],
        )

    def offer(self, place: Property, months_ago: int = 0) -> tuple[int, str]:
        made = self.draft(place, months_ago)
        by = self.firm.people[OFFICE]
        paper = offer_agreement(
            agreement_id=made.pk, by=by, now=self.now, today=self.today, demo=True
        )
        return made.pk, paper.sha256

    def sign(self, place: Property, how: str, months_ago: int) -> int:
        key, digest = self.offer(place, months_ago)
        given = Acceptance(
            how,
            "Pat Demonstration",
            digest,
            signature=DRAWN if how == "drawn" else "",
            scan=SCAN if how == "paper" else b"",
            note="From pat@demo.example, the same day." if how == "email" else "",
        )
        accept_agreement(agreement_id=key, given=given, by=self.firm.people[OFFICE], now=self.now)
        return key


def agree_with_some(*, firm: Firm, today: date, now: datetime) -> tuple[str, ...]:
    """Two programs; agreements drafted, offered, active and paused at places with visits."""
    by = firm.people[OFFICE]
    keys = tuple(add_program(entered=one, by=by).pk for one in (EXTERIOR, QUARTERLY))
    maker = _Maker(firm, today, now, (keys[0], keys[1]))
    places = _places(by.branch_id, len(SIGNED) + 2)
    signed = [maker.sign(place, *how) for place, how in zip(places, SIGNED, strict=False)]
    for make, place in zip((maker.offer, maker.draft), places[len(SIGNED) :], strict=False):
        make(place)
    if len(signed) == len(SIGNED):
        reason = "The house is being painted."
        pause_agreement(agreement_id=signed[-1], reason=reason, by=by, now=now)
    watch_agreements(today=today, now=now)
    found = Counter(ServiceAgreement.objects.values_list("state", flat=True))
    return (", ".join(f"{many} {state}" for state, many in sorted(found.items())) + ".",)


def _places(branch_id: int, most: int) -> list[Property]:
    visited = Visit.objects.filter(property__branch=branch_id).order_by("-day", "pk")
    rows = visited.select_related("property__customer")[:60]
    return list({one.property_id: one.property for one in rows}.values())[:most]
