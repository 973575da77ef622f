"""Making programs, offering agreements, recording acceptance, pausing and ending."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from scheduling.models import (
    AgreementAcceptance,
    AgreementPaper,
    AgreementStep,
    ServiceAgreement,
    ServiceProgram,
)
from scheduling.reports.agreement import draw_agreement
from scheduling.rules.agreement_states import AgreementState, check_agreement_transition
from scheduling.rules.agreements import Accepted, Terms, check_end, check_rhythm, check_terms
from scheduling.rules.signatures import check_evidence
from scheduling.selectors.agreements import agreement_for, agreement_sheet, program_for
from sites.selectors.properties import property_for

if TYPE_CHECKING:
    from accounts.models import Person

RUNNING = (AgreementState.ACTIVE, AgreementState.PAUSED)


def _checked_program(entered: dict[str, Any], pk: int | None) -> dict[str, Any]:
    name = entered["name"].strip()
    taken = ServiceProgram.objects.filter(name__iexact=name).exclude(pk=pk or 0)
    if taken.exists():
        raise Refused("name", "A program of this name is there already.", field="name")
    for field, what in (("pest_groups", "pest"), ("places", "place"), ("methods", "method")):
        if not entered[field]:
            raise Refused(field, f"Tick at least one {what}.", field=field)
    rhythm = {name: entered[name] for name in ("by_residual", "every_days", "seasons")}
    check_rhythm(**rhythm)
    return entered | {"name": name}


@transaction.atomic
def add_program(*, entered: dict[str, Any], by: Person | None) -> ServiceProgram:
    """Add what a plan covers and its rhythm.

    Refused: a name that is taken, nothing covered, no rhythm.
    """
    require(by, Permission.EDIT_AGREEMENTS)
    made = ServiceProgram.objects.create(**_checked_program(entered, None), created_by=by)
    note_event(by=by, act="add_program", thing=made)
    return made


@transaction.atomic
def edit_program(*, program_id: int, entered: dict[str, Any], by: Person | None) -> None:
    """Change a program for offers made from now on; papers that were made keep their words."""
    require(by, Permission.EDIT_AGREEMENTS)
    program = program_for(program_id)
    for field, value in _checked_program(entered, program.pk).items():
        setattr(program, field, value)
    program.save()
    note_event(by=by, act="edit_program", thing=program)


@transaction.atomic
def draft_agreement(
    *, property_id: int, program_id: int, terms: Terms, by: Person | None
) -> ServiceAgreement:
    """Bind a property to a program, as a draft. Refused: terms nobody can keep."""
    require(by, Permission.EDIT_AGREEMENTS)
    place, program = property_for(by, property_id), program_for(program_id)
    check_terms(terms)
    made = ServiceAgreement.objects.create(
        property=place, program=program, ends_on=terms.ends_on, created_by=by, **vars(terms)
    )
    note_event(by=by, act="draft_agreement", thing=made)
    return made


@transaction.atomic
def edit_agreement(*, agreement_id: int, program_id: int, terms: Terms, by: Person | None) -> None:
    """Change a draft. Refused: an agreement that was offered, terms nobody can keep."""
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    check_terms(terms)
    drafts = ServiceAgreement.objects.filter(pk=one.pk, state=AgreementState.DRAFT)
    program = program_for(program_id)
    if not drafts.update(program=program, ends_on=terms.ends_on, **vars(terms)):
        raise Refused("agreement_state", "Only a draft is changed. Take the offer back first.")
    note_event(by=by, act="edit_agreement", thing=one)


def _step(
    one: ServiceAgreement, new: AgreementState, *, reason: str, by: Person | None, now: datetime
) -> None:
    """Move an agreement by compare and set, and keep the step."""
    old = AgreementState(one.state)
    check_agreement_transition(old, new)
    try:
        with transaction.atomic():
            moved = ServiceAgreement.objects.filter(pk=one.pk, state=old).update(state=new)
    except IntegrityError:
        raise _second() from None
    if not moved:
        raise Refused("agreement_state", "Somebody changed this agreement before you. Reload it.")
    one.state = new
    AgreementStep.objects.create(
        agreement=one, old=old, new=new, reason=reason.strip(), at=now, created_by=by
    )
    note_event(by=by, act=f"agreement_{new}", thing=one, now=now, reason=reason.strip())


def _second() -> Refused:
    sentence = "This property has a running agreement with the same program. End that one first."
    return Refused("second_agreement", sentence)


@transaction.atomic
def offer_agreement(
    *, agreement_id: int, by: Person | None, now: datetime, today: date, demo: bool
) -> AgreementPaper:
    """Make the paper of a draft and offer it; the paper is kept as it is for good."""
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    _step(one, AgreementState.OFFERED, reason="", by=by, now=now)
    version = one.papers.count() + 1
    content = draw_agreement(agreement_sheet(one, version, today, demo=demo))
    return AgreementPaper.objects.create(
        agreement=one,
        version=version,
        pest_groups=one.program.pest_groups,
        content=content,
        sha256=sha256(content).hexdigest(),
        created_by=by,
    )


@dataclass(frozen=True)
class Acceptance:
    """What somebody brought: how, who, drawn line or scan, the digest of the paper they saw."""

    how: str
    signer: str
    sha256: str
    signature: str = ""
    scan: bytes = b""
    note: str = ""


@transaction.atomic
def accept_agreement(
    *, agreement_id: int, given: Acceptance, by: Person | None, now: datetime
) -> AgreementAcceptance:
    """Record that the customer accepted the newest paper; the agreement is active.

    Refused: evidence that shows nothing, another paper than the one offered now.
    """
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    paper = one.papers.first()
    if paper is None or paper.sha256 != given.sha256:
        raise Refused("paper", "The offer changed since. Read the newest paper and accept that.")
    check_evidence(
        given.how,
        signer=given.signer,
        signature=given.signature,
        scan=given.scan,
        note=given.note,
    )
    _step(one, AgreementState.ACTIVE, reason="", by=by, now=now)
    return _kept(paper, given, by, now)


def _kept(
    paper: AgreementPaper, given: Acceptance, by: Person | None, now: datetime
) -> AgreementAcceptance:
    scan = given.scan if given.how == Accepted.PAPER else b""
    return AgreementAcceptance.objects.create(
        paper=paper,
        sha256=paper.sha256,
        how=given.how,
        signer=" ".join(given.signer.split()),
        signature=given.signature.strip() if given.how == Accepted.DRAWN else "",
        scan=scan or None,
        scan_sha256=sha256(scan).hexdigest() if scan else "",
        note=given.note.strip(),
        at=now,
        created_by=by,
    )


def _with_reason(reason: str) -> str:
    if not reason.strip():
        raise Refused("reason", "Write why, for whoever asks later.", field="reason")
    return reason


@transaction.atomic
def pause_agreement(*, agreement_id: int, reason: str, by: Person | None, now: datetime) -> None:
    """Let an agreement rest. Refused: no reason, one that is not active."""
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    _step(one, AgreementState.PAUSED, reason=_with_reason(reason), by=by, now=now)


@transaction.atomic
def resume_agreement(*, agreement_id: int, by: Person | None, now: datetime) -> None:
    """Let a paused agreement run again. Refused: one that is not paused."""
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    if one.state != AgreementState.PAUSED:
        raise Refused("agreement_state", "Only a paused agreement is resumed.")
    _step(one, AgreementState.ACTIVE, reason="", by=by, now=now)


@transaction.atomic
def take_back_offer(*, agreement_id: int, reason: str, by: Person | None, now: datetime) -> None:
    """Make an offer a draft again, to change its terms; its paper is kept."""
    require(by, Permission.EDIT_AGREEMENTS)
    one = agreement_for(by, agreement_id)
    _step(one, AgreementState.DRAFT, reason=_with_reason(reason), by=by, now=now)


@transaction.atomic
def end_agreement(
    *,
    agreement_id: int,
    ends_on: date,
    both_agree: bool,
    reason: str,
    by: Person | None,
    now: datetime,
    today: date,
) -> None:
    """Say the last day of an agreement; one that is not accepted ends at once.

    Refused: no reason, a day inside the notice unless both sides agree, a day that is later than
    the term. From the day after its last day it is ended.
    """
    require(by, Permission.EDIT_AGREEMENTS)
    one, said = agreement_for(by, agreement_id), _with_reason(reason)
    if one.state in RUNNING:
        _set_last_day(one, ends_on, both_agree, today)
        if ends_on > today:
            note_event(by=by, act="end_told", thing=one, now=now, reason=said, on=str(ends_on))
            return
    _step(one, AgreementState.ENDED, reason=said, by=by, now=now)


def _set_last_day(one: ServiceAgreement, ends_on: date, both_agree: bool, today: date) -> None:
    if ends_on < today or (ends_on > one.ends_on and not one.renews):
        sentence = "Choose a day from today to the last day of the term."
        raise Refused("ends_on", sentence, field="ends_on")
    if not both_agree:
        notice = one.notice_days
        check_end(ends_on, starts_on=one.starts_on, told_on=today, notice_days=notice)
    ServiceAgreement.objects.filter(pk=one.pk).update(ends_on=ends_on, renews=False)
