"""What the pages of the register show."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from accounts.models import ContinuingEducation, EducationCycle, FirmPaper, TrainingRecord
from accounts.rules.day_words import short_day
from accounts.rules.education import credit_words, earned, missing
from accounts.rules.register import PAPER_WORDS, Band, RegisterLine, band, left_words
from accounts.selectors.people import branches_for, people_for
from accounts.selectors.register import credit_of, cycle_of, training_of

if TYPE_CHECKING:
    from accounts.models import Person

SHAPES = {
    Band.LATER: "ok",
    Band.DAYS_90: "open",
    Band.DAYS_60: "check",
    Band.DAYS_30: "check",
    Band.DAYS_7: "late",
    Band.OVER: "refuse",
}


@dataclass(frozen=True)
class LineRow:
    """One line of the register in words; `shape` of its state word."""

    line: RegisterLine
    kind: str
    left: str
    shape: str
    to_do: str


@dataclass(frozen=True)
class Counts:
    """How many lines ran out, and how many do within 30 and 90 days."""

    over: int
    soon: int
    later: int


@dataclass(frozen=True)
class Held:
    """One entry and how it stands on a day."""

    row: Any
    word: str
    shape: str
    detail: str = ""


@dataclass(frozen=True)
class CreditRow:
    """One course, its credits in words."""

    row: ContinuingEducation
    credits: str


@dataclass(frozen=True)
class FirmRow(Held):
    """One firm paper, how much is insured in words, whether another one renews it."""

    insured: str = ""
    is_renewed: bool = False


@dataclass(frozen=True)
class PersonPapers:
    """Training and education of one person: what counts, and what was replaced or voided."""

    trainings: Sequence[Held]
    cycles: Sequence[Held]
    credits: Sequence[CreditRow]
    past: Sequence[Any]


def line_rows(lines: Iterable[RegisterLine], today: date) -> list[LineRow]:
    """Lines in words on a day."""
    return [
        LineRow(
            one,
            PAPER_WORDS[one.kind],
            left_words(one.until, today),
            SHAPES[one.band(today)],
            one.to_do(today),
        )
        for one in lines
    ]


def counts_of(lines: Collection[RegisterLine], today: date) -> Counts:
    """How many lines are how near."""
    bands = [one.band(today) for one in lines]
    return Counts(
        over=bands.count(Band.OVER),
        soon=bands.count(Band.DAYS_7) + bands.count(Band.DAYS_30),
        later=bands.count(Band.DAYS_60) + bands.count(Band.DAYS_90),
    )


def chosen(
    lines: Iterable[RegisterLine], *, branch_id: int | None, kind: str, person_id: int | None
) -> list[RegisterLine]:
    """The lines of a branch, a kind and a person; None and empty choose all."""
    return [
        one
        for one in lines
        if branch_id in (None, one.branch_id)
        and kind in ("", one.kind)
        and person_id in (None, one.person_id)
    ]


def people_choices(person: Person) -> list[tuple[int, str]]:
    """Keys and names of the people at work whom a person may see."""
    return [(one.pk, one.full_name) for one in people_for(person).filter(is_active=True)]


def person_papers(person_id: int, today: date) -> PersonPapers:
    """Training, credits and cycles of a person; three queries."""
    trainings = list(_rows(TrainingRecord, person_id))
    credits = list(_rows(ContinuingEducation, person_id))
    cycles = list(_rows(EducationCycle, person_id))
    counted = [one for one in credits if one.counts]
    return PersonPapers(
        trainings=[_training(one, today) for one in trainings if one.counts],
        cycles=[_cycle(one, counted, today) for one in cycles if one.counts],
        credits=[CreditRow(one, credit_words(one.credits)) for one in counted],
        past=[one for one in (*trainings, *credits, *cycles) if not one.counts and not one.is_void],
    )


def firm_papers(person: Person, today: date) -> tuple[list[FirmRow], list[FirmPaper]]:
    """The papers of a person's branches that count, and those replaced or voided."""
    rows = FirmPaper.objects.filter(branch__in=branches_for(person))
    every = list(rows.select_related("branch", "superseded_by").order_by("-ends_on", "pk"))
    renewed = {one.renews_id for one in every if one.counts}
    held = [_firm(one, one.pk in renewed, today) for one in every if one.counts]
    return held, [one for one in every if not one.counts and not one.is_void]


def _rows(model: Any, person_id: int) -> Any:
    return model.objects.filter(person_id=person_id).select_related("superseded_by")


def _training(row: TrainingRecord, today: date) -> Held:
    ends = training_of(row).ends_on
    shape = SHAPES[band(ends, today)]
    return Held(row, left_words(ends, today), shape, detail=short_day(ends, True))


def _cycle(row: EducationCycle, credits: Collection[ContinuingEducation], today: date) -> Held:
    cycle = cycle_of(row)
    own = [credit_of(one) for one in credits if one.state == row.state]
    short, got = missing(cycle, own), earned(cycle, own)
    shape = "ok" if not short else "refuse" if row.ends_on < today else "check"
    word = "complete" if not short else f"{credit_words(short)} missing"
    return Held(row, word, shape, detail=_of(got, row.credits_needed))


def _of(got: Decimal, needed: Decimal) -> str:
    return f"{got.normalize():f} of {credit_words(needed)}"


def _firm(row: FirmPaper, is_renewed: bool, today: date) -> FirmRow:
    word, shape = _standing(row, is_renewed, today)
    insured = f"${row.insured_dollars:,}" if row.insured_dollars else ""
    return FirmRow(row, word, shape, insured=insured, is_renewed=is_renewed)


def _standing(row: FirmPaper, is_renewed: bool, today: date) -> tuple[str, str]:
    if row.starts_on > today:
        return "not yet in force", "open"
    if is_renewed:
        return "renewed", "open"
    if row.ends_on < today:
        return "over", "refuse"
    return left_words(row.ends_on, today), SHAPES[band(row.ends_on, today)]
