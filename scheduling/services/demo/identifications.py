"""What the technicians of the invented firm identified at a stop of theirs."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from uuid import uuid5

from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from scheduling.services.demo.days import NEVER_TYPED_TWICE
from scheduling.services.identifying import identify_on_visit
from sites.rules.identification.entries import NewIdentification
from sites.rules.identification.words import Confidence
from sites.services.identification_key import load_key

if TYPE_CHECKING:
    from scheduling.services.demo.firm import Firm

SEEN = ("shape.shield", "antennae.banded", "back.striped_edge", "behind.unknown")
DONE = (VisitState.DONE, VisitState.PART_DONE)


def identify_some(*, firm: Firm, today: date) -> tuple[str, ...]:
    """Each technician names the stink bug at the last stop done before today."""
    load_key()
    done = Visit.objects.filter(state__in=DONE, day__lt=today).order_by("-day", "-pk")
    said = []
    for person in firm.people.values():
        visit = done.filter(technician=person).first()
        if visit is None:
            continue
        row = identify_on_visit(
            visit_id=visit.pk,
            identification=_stink_bug(visit),
            by=person,
            now=visit.finished_at or visit.window_opens_at,
        )
        said.append(f"{row} at {visit.property.street}: {row.get_confidence_display()}")
    return tuple(said)


def _stink_bug(visit: Visit) -> NewIdentification:
    return NewIdentification(
        client_ref=uuid5(NEVER_TYPED_TWICE, f"identification, {visit.ref}"),
        answers=SEEN,
        taxon="HALHA",
        confidence=Confidence.CERTAIN,
        found_where="South bedroom window",
        visit_ref=str(visit.ref),
    )
