"""What the register refuses, and what a training record must hold (40 CFR 171.201, read)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from accounts.refusals import Refused
from accounts.rules.register import PaperKind
from accounts.rules.register_entries import (
    CreditEntry,
    CycleEntry,
    Entry,
    FirmPaperEntry,
    TrainingEntry,
    register_kind,
)

TODAY = date(2026, 11, 25)
TRAINING = TrainingEntry("training", date(2026, 3, 2), "Course", "Trainer", "Certified OH 1")
CREDIT = CreditEntry("OH", "10a", Decimal(2), date(2026, 3, 2), "Course", "Provider", "CE-1")
CYCLE = CycleEntry("OH", "", date(2024, 10, 1), date(2027, 9, 30), Decimal(5))
PAPER = FirmPaperEntry("liability", "P-1", "Insurer", date(2026, 1, 1), date(2026, 12, 31), 10)


def test_training_holds_twelve_months_unless_said_otherwise() -> None:
    """From memory, unverified."""
    assert TRAINING.checked(TODAY).valid_until == date(2027, 3, 2)
    short = replace(TRAINING, valid_until=date(2026, 6, 1))
    assert short.checked(TODAY).valid_until == date(2026, 6, 1)


def test_lines_are_trimmed() -> None:
    entry = replace(TRAINING, title="  A   course ", topics=" one\r\ntwo ")
    checked = entry.checked(TODAY)
    assert (checked.title, checked.topics) == ("A course", "one\ntwo")
    assert replace(CREDIT, state="oh").checked(TODAY).state == "OH"


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        # 171.201: day, trainer, title or description
        (replace(TRAINING, title=" "), "title"),
        (replace(TRAINING, trainer=""), "trainer"),
        (replace(TRAINING, trainer_qualification=""), "trainer_qualification"),
        (replace(TRAINING, basis="talk"), "basis"),
        (replace(TRAINING, met_on=date(2026, 11, 26)), "met_on"),
        (replace(TRAINING, signed_on=date(2026, 11, 26)), "signed_on"),
        (replace(TRAINING, valid_until=date(2026, 3, 1)), "valid_until"),
        (replace(TRAINING, topics="x" * 1001), "topics"),
        (replace(CREDIT, credits=Decimal(0)), "credits"),
        (replace(CREDIT, credits=Decimal(-1)), "credits"),
        (replace(CREDIT, credits=Decimal(1000)), "credits"),
        (replace(CREDIT, taken_on=date(2026, 11, 26)), "taken_on"),
        (replace(CREDIT, state="ZZ"), "state"),
        (replace(CREDIT, category=""), "category"),
        (replace(CREDIT, evidence_number=""), "evidence_number"),
        (replace(CYCLE, ends_on=date(2024, 9, 30)), "ends_on"),
        (replace(CYCLE, credits_needed=Decimal(0)), "credits_needed"),
        (replace(PAPER, ends_on=date(2025, 12, 31)), "ends_on"),
        (replace(PAPER, kind="passport"), "kind"),
        (replace(PAPER, number=""), "number"),
        (replace(PAPER, issuer=""), "issuer"),
    ],
)
def test_refused_at_its_field(entry: Entry, field: str) -> None:
    with pytest.raises(Refused) as caught:
        entry.checked(TODAY)
    assert caught.value.facts["field"] == field


@pytest.mark.parametrize(
    ("kind", "found"),
    [("business_license", PaperKind.BUSINESS_LICENSE), ("bond", PaperKind.INSURANCE)],
)
def test_firm_papers_are_licenses_or_insurance(kind: str, found: PaperKind) -> None:
    assert register_kind(kind) == found
