"""The register of the invented firm, entered by its manager through the services."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.rules.register_entries import (
    CreditEntry,
    CycleEntry,
    FirmPaperEntry,
    TrainingEntry,
)
from accounts.services.register import add_credits, add_cycle, add_firm_paper, add_training
from scheduling.rules.demo.register import (
    CATEGORY,
    COURSE,
    CYCLES,
    FIRM_PAPERS,
    NEWLY_TRAINED,
    PROVIDER,
    QUALIFICATION,
    TOPICS,
    TRAINER,
    DemoCycle,
    DemoTraining,
)
from scheduling.services.register import watch_register

if TYPE_CHECKING:
    from scheduling.services.demo.firm import Firm

PAPER_YEAR = timedelta(days=365)
CYCLE_YEARS = timedelta(days=3 * 365)


def fill_the_register(*, firm: Firm, today: date, now: datetime) -> tuple[str, ...]:
    """Enter training, credits and firm papers, then look through the register once."""
    train(NEWLY_TRAINED, firm=firm, today=today, now=now)
    for cycle in CYCLES:
        _cycle(cycle, firm, today, now)
    for paper in FIRM_PAPERS:
        ends_on = today + timedelta(days=paper.ends_in)
        add_firm_paper(
            branch_id=firm.branches[paper.branch].pk,
            entry=FirmPaperEntry(
                kind=paper.kind,
                number=paper.number,
                issuer="Demonstration issuer",
                starts_on=ends_on - PAPER_YEAR,
                ends_on=ends_on,
                insured_dollars=paper.dollars,
            ),
            by=firm.manager,
            now=now,
        )
    return (watch_register(today=today, now=now).sentence,)


def train(one: DemoTraining, *, firm: Firm, today: date, now: datetime) -> None:
    """Enter the training of one person."""
    add_training(
        person_id=firm.people[one.email].pk,
        entry=_training(today - timedelta(days=one.days_ago)),
        by=firm.manager,
        now=now,
    )


def _training(day: date) -> TrainingEntry:
    return TrainingEntry(
        basis="training",
        met_on=day,
        title=COURSE,
        trainer=TRAINER,
        trainer_qualification=QUALIFICATION,
        topics=TOPICS,
        signed_on=day,
    )


def _cycle(one: DemoCycle, firm: Firm, today: date, now: datetime) -> None:
    person_id, ends_on = firm.people[one.email].pk, today + timedelta(days=one.ends_in)
    starts_on = ends_on - CYCLE_YEARS
    entry = CycleEntry(one.state, CATEGORY, starts_on, ends_on, one.needed)
    add_cycle(person_id=person_id, entry=entry, by=firm.manager, now=now)
    for number, credits in enumerate(one.earned, start=1):
        course = _course(one.state, credits, today - timedelta(days=90 * number), number)
        add_credits(person_id=person_id, entry=course, by=firm.manager, now=now)


def _course(state: str, credits: Decimal, day: date, number: int) -> CreditEntry:
    return CreditEntry(
        state=state,
        category=CATEGORY,
        credits=credits,
        taken_on=day,
        course=f"Demonstration course {number}",
        provider=PROVIDER,
        evidence_number=f"DEMO-CE-{number}",
    )
