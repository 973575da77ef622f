"""Writing respirator papers."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.models import RespiratorPaper
from accounts.permissions import Permission, require
from accounts.rules.lines import line
from accounts.selectors.people import person_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def add_respirator_paper(
    *,
    person_id: int,
    respirator: str,
    medical_until: date,
    fit_test_until: date,
    cartridge_until: date,
    by: Person | None,
) -> RespiratorPaper:
    """Enter a person's papers for one respirator; the newest row of a person counts.

    Refused: a respirator without a name.
    """
    require(by, Permission.EDIT_LICENSES)
    paper = RespiratorPaper.objects.create(
        person=person_for(by, person_id),
        respirator=line(respirator, field="respirator", label="Respirator", most=80),
        medical_until=medical_until,
        fit_test_until=fit_test_until,
        cartridge_until=cartridge_until,
        created_by=by,
    )
    note_event(by=by, act="respirator_paper_added", thing=paper, respirator=paper.respirator)
    return paper
