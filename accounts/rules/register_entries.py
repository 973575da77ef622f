"""What is entered in the register, before it is a row.

Content of a training record: 40 CFR 171.201 (read, reference/regulations.md 1.1).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.lines import line, one_of, paragraph
from accounts.rules.postal import state_code
from accounts.rules.register import PaperKind
from accounts.rules.training import Basis, a_year_after

MOST_CREDITS = Decimal(999)


class FirmPaperKind(StrEnum):
    """The papers a firm keeps for a branch."""

    BUSINESS_LICENSE = "business_license"
    LIABILITY = "liability"
    VEHICLES = "vehicles"
    WORKERS = "workers"
    BOND = "bond"


FIRM_PAPER_WORDS = {
    FirmPaperKind.BUSINESS_LICENSE: "Business license",
    FirmPaperKind.LIABILITY: "Liability insurance",
    FirmPaperKind.VEHICLES: "Vehicle insurance",
    FirmPaperKind.WORKERS: "Workers' compensation insurance",
    FirmPaperKind.BOND: "Surety bond",
}


def register_kind(kind: str) -> PaperKind:
    """Under which kind of the register a paper of the firm stands."""
    if kind == FirmPaperKind.BUSINESS_LICENSE:
        return PaperKind.BUSINESS_LICENSE
    return PaperKind.INSURANCE


@dataclass(frozen=True)
class TrainingEntry:
    """One training; `valid_until` None is twelve months, `signed_on` None not signed yet."""

    basis: str
    met_on: date
    title: str
    trainer: str
    trainer_qualification: str
    topics: str = ""
    valid_until: date | None = None
    signed_on: date | None = None

    def checked(self, today: date) -> TrainingEntry:
        """The entry with trimmed lines.

        Refused: a day to come, an end before it, a line that is missing or too long.
        """
        one_of(self.basis, list(Basis), field="basis", label="What qualified them")
        _not_to_come(self.met_on, today, "met_on", "The training")
        if self.signed_on is not None:
            _not_to_come(self.signed_on, today, "signed_on", "The signature")
        until = self.valid_until or a_year_after(self.met_on)
        _in_order(self.met_on, until, "valid_until", "The training")
        return replace(
            self,
            valid_until=until,
            title=line(self.title, field="title", label="Title or description", most=160),
            trainer=line(self.trainer, field="trainer", label="Trainer", most=120),
            trainer_qualification=line(
                self.trainer_qualification,
                field="trainer_qualification",
                label="The trainer's qualification",
                most=160,
            ),
            topics=paragraph(self.topics, field="topics", label="Topics and materials", most=1000),
        )


@dataclass(frozen=True)
class CreditEntry:
    """Credits of one course."""

    state: str
    category: str
    credits: Decimal
    taken_on: date
    course: str
    provider: str
    evidence_number: str

    def checked(self, today: date) -> CreditEntry:
        """The entry with trimmed lines; refused: a course to come, no credits, a missing line."""
        _not_to_come(self.taken_on, today, "taken_on", "The course")
        _credits(self.credits, "credits")
        return replace(
            self,
            state=state_code(self.state),
            category=line(self.category, field="category", label="Category", most=40),
            course=line(self.course, field="course", label="Course", most=160),
            provider=line(self.provider, field="provider", label="Provider", most=120),
            evidence_number=line(
                self.evidence_number,
                field="evidence_number",
                label="Number of the certificate",
                most=60,
            ),
        )


@dataclass(frozen=True)
class CycleEntry:
    """What a cycle wants; an empty category counts every one."""

    state: str
    category: str
    starts_on: date
    ends_on: date
    credits_needed: Decimal

    def checked(self, today: date) -> CycleEntry:
        """The entry with trimmed lines; refused: an end before the start, no credits wanted."""
        _in_order(self.starts_on, self.ends_on, "ends_on", "The cycle")
        _credits(self.credits_needed, "credits_needed")
        category = line(self.category, field="category", label="Category", most=40, needed=False)
        return replace(self, state=state_code(self.state), category=category)


@dataclass(frozen=True)
class FirmPaperEntry:
    """A paper of a branch; `insured_dollars` in whole dollars, none for a license."""

    kind: str
    number: str
    issuer: str
    starts_on: date
    ends_on: date
    insured_dollars: int | None = None

    def checked(self, today: date) -> FirmPaperEntry:
        """The entry with trimmed lines; refused: an end before the start, a missing line."""
        one_of(self.kind, list(FirmPaperKind), field="kind", label="Kind of paper")
        _in_order(self.starts_on, self.ends_on, "ends_on", "The paper")
        return replace(
            self,
            number=line(self.number, field="number", label="Number", most=60),
            issuer=line(self.issuer, field="issuer", label="Issued by", most=120),
        )


Entry = TrainingEntry | CreditEntry | CycleEntry | FirmPaperEntry


def _not_to_come(day: date, today: date, field: str, what: str) -> None:
    if day > today:
        sentence = f"{what} is dated {short_day(day, True)}, a day to come. Check the day."
        raise Refused("to_come", sentence, field=field)


def _in_order(start: date, end: date, field: str, what: str) -> None:
    if end < start:
        raise Refused("term", f"{what} ends before it begins. Check both days.", field=field)


def _credits(number: Decimal, field: str) -> None:
    if not 0 < number <= MOST_CREDITS:
        sentence = f"Write a number of credits above 0 and up to {MOST_CREDITS}."
        raise Refused("credits", sentence, field=field)
