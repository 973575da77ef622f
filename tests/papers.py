"""Rows of the register for tests, made straight through the tables."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from accounts.models import (
    Branch,
    ContinuingEducation,
    EducationCycle,
    FirmPaper,
    Person,
    TrainingRecord,
)

YEAR = timedelta(days=365)
_numbers = count(1)


def make_training(person: Person, met_on: date, **fields: Any) -> TrainingRecord:
    """Training that holds for 365 days unless said otherwise."""
    return TrainingRecord.objects.create(
        **{
            "person": person,
            "basis": "training",
            "met_on": met_on,
            "valid_until": met_on + YEAR,
            "title": "Demonstration course",
            "trainer": "Invented Trainer",
            "trainer_qualification": "Certified, OH DEMO-1",
            "signed_on": met_on,
        }
        | fields
    )


def make_firm_paper(branch: Branch, starts_on: date, **fields: Any) -> FirmPaper:
    """A business license of the branch for 365 days unless said otherwise."""
    return FirmPaper.objects.create(
        **{
            "branch": branch,
            "kind": "business_license",
            "number": f"DEMO-B-{next(_numbers)}",
            "issuer": "Demonstration agency",
            "starts_on": starts_on,
            "ends_on": starts_on + YEAR,
        }
        | fields
    )


def make_cycle(person: Person, ends_on: date, **fields: Any) -> EducationCycle:
    """A cycle of a year that wants five credits in category 10a of Ohio."""
    return EducationCycle.objects.create(
        **{
            "person": person,
            "state": "OH",
            "category": "10a",
            "starts_on": ends_on - YEAR,
            "ends_on": ends_on,
            "credits_needed": Decimal(5),
        }
        | fields
    )


def make_credits(person: Person, taken_on: date, **fields: Any) -> ContinuingEducation:
    """Two credits in category 10a of Ohio."""
    return ContinuingEducation.objects.create(
        **{
            "person": person,
            "state": "OH",
            "category": "10a",
            "credits": Decimal(2),
            "taken_on": taken_on,
            "course": "Demonstration course",
            "provider": "Invented provider",
            "evidence_number": f"DEMO-CE-{next(_numbers)}",
        }
        | fields
    )
