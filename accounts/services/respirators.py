"""Writing respirator papers: entered, superseded, ended; never changed."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.models import RespiratorPaper
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.rules.respirators import KIND_WORDS, WITH_CARTRIDGE, RespiratorKind
from accounts.selectors.people import person_for, respirator_paper_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def add_respirator_paper(
    *,
    person_id: int,
    kind: str,
    respirator: str,
    medical_until: date,
    fit_test_until: date,
    cartridge_until: date | None,
    by: Person | None,
) -> RespiratorPaper:
    """Enter a person's papers for one respirator; the newest of its kind counts.

    Refused: a kind that is none, a respirator without a name, cartridges without their last day
    or a last day of cartridges that the kind does not have.
    """
    require(by, Permission.EDIT_LICENSES)
    paper = RespiratorPaper(person=person_for(by, person_id), created_by=by)
    _fill(paper, kind, respirator, cartridge_until)
    paper.medical_until, paper.fit_test_until = medical_until, fit_test_until
    paper.save()
    note_event(by=by, act="respirator_paper_added", thing=paper, respirator=paper.respirator)
    return paper


@transaction.atomic
def supersede_respirator_paper(
    *,
    paper_id: int,
    kind: str,
    respirator: str,
    medical_until: date,
    fit_test_until: date,
    cartridge_until: date | None,
    by: Person | None,
) -> RespiratorPaper:
    """Put corrected papers in the place of others, which stay readable.

    Refused: as for new papers, and papers that another row has superseded or that are ended.
    """
    require(by, Permission.EDIT_LICENSES)
    old = _locked(by, paper_id)
    paper = RespiratorPaper(person=old.person, supersedes=old, created_by=by)
    _fill(paper, kind, respirator, cartridge_until)
    paper.medical_until, paper.fit_test_until = medical_until, fit_test_until
    paper.save()
    note_event(by=by, act="respirator_paper_superseded", thing=paper, superseded=old.pk)
    return paper


@transaction.atomic
def end_respirator_paper(
    *, paper_id: int, reason: str, by: Person | None, now: datetime
) -> RespiratorPaper:
    """End papers before their days are over; refused without a reason or when they do not count."""
    require(by, Permission.EDIT_LICENSES)
    paper = _locked(by, paper_id)
    paper.ended_at = now
    paper.ended_reason = line(reason, field="reason", label="The reason", most=200)
    paper.save(update_fields=["ended_at", "ended_reason"])
    note_event(by=by, act="respirator_paper_ended", thing=paper, now=now)
    return paper


def _locked(by: Person | None, paper_id: int) -> RespiratorPaper:
    """The paper, held until the end; Http404 for one that another person has just replaced."""
    seen = respirator_paper_for(by, paper_id)
    row = RespiratorPaper.objects.select_for_update().get(pk=seen.pk)
    if RespiratorPaper.objects.current().filter(pk=row.pk).exists():
        return row
    raise Refused("superseded", "Somebody has just changed these papers. Open the sheet again.")


def _fill(paper: RespiratorPaper, kind: str, respirator: str, cartridge_until: date | None) -> None:
    chosen = RespiratorKind(one_of(kind, list(RespiratorKind), field="kind", label="Kind"))
    words = KIND_WORDS[chosen]
    if chosen in WITH_CARTRIDGE and cartridge_until is None:
        sentence = f"{words} needs the last day of its cartridge or filter. Type it."
        raise Refused("cartridge", sentence, field="cartridge_until")
    if chosen not in WITH_CARTRIDGE and cartridge_until is not None:
        sentence = f"{words} has no cartridge. Leave the day empty, or choose another kind."
        raise Refused("cartridge", sentence, field="cartridge_until")
    paper.kind, paper.cartridge_until = chosen, cartridge_until
    paper.respirator = line(respirator, field="respirator", label="Respirator", most=80)
