"""The pages of a round, of a finding, and of what was found at a property."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from scheduling.selectors.reach import own_open_visit, reachable
from sites.rules.checkpoints import BY_CODE, CHECKPOINTS, SIDE_WORDS, Checkpoint, Side
from sites.rules.findings import NOT_WOOD_DESTROYING
from sites.rules.gaps import Admitted, admitted_by, lets_in_words
from sites.rules.inspection_changes import Changed, HotSpot
from sites.rules.sealing import stays_open_words
from sites.selectors.exclusion import tasks_of
from sites.selectors.inspections import (
    changes_since,
    finding_for,
    findings_of,
    in_order_of_work,
    inspection_for,
    inspections_of,
    open_findings,
    seen_at,
    spots_of,
)
from treatments.selectors.records import pests_treated_at

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import ExclusionTask, Finding, Inspection, InspectionReport, Property


@dataclass(frozen=True)
class CheckpointRow:
    """One checkpoint of a round with its answer."""

    point: Checkpoint
    is_clear: bool
    findings: tuple[Finding, ...]

    @property
    def is_answered(self) -> bool:
        return self.is_clear or bool(self.findings)


@dataclass(frozen=True)
class SideRows:
    """The checkpoints of one side."""

    side: Side
    rows: tuple[CheckpointRow, ...]

    @property
    def name(self) -> str:
        return SIDE_WORDS[self.side]

    @property
    def left(self) -> int:
        return sum(not row.is_answered for row in self.rows)


@dataclass(frozen=True)
class RoundPage:
    """One inspection."""

    inspection: Inspection
    place: Property
    sides: tuple[SideRows, ...]
    findings: Sequence[Finding]
    changes: tuple[Changed, ...]
    reports: Sequence[InspectionReport]
    visit_pk: int | None
    sentence: str = NOT_WOOD_DESTROYING

    @property
    def is_open(self) -> bool:
        return not hasattr(self.inspection, "ending")

    @property
    def answered(self) -> int:
        return len(CHECKPOINTS) - sum(side.left for side in self.sides)


def round_page(person: Person, pk: int, today: date) -> RoundPage:
    """One inspection within reach, in a fixed number of queries; else Http404."""
    inspection = inspection_for(reachable(person, today), pk)
    findings = findings_of(pk)
    clear = frozenset(inspection.answers.values_list("checkpoint", flat=True))
    visit = own_open_visit(person, inspection.property_id, today)
    return RoundPage(
        inspection=inspection,
        place=inspection.property,
        sides=tuple(_side(side, clear, findings) for side in Side),
        findings=findings,
        changes=changes_since(inspection, findings),
        reports=list(inspection.reports.defer("content").order_by("-pk")),
        visit_pk=visit.pk if visit else None,
    )


def _side(side: Side, clear: frozenset[str], findings: Sequence[Finding]) -> SideRows:
    rows = []
    for point in CHECKPOINTS:
        if point.side is side:
            found = tuple(one for one in findings if one.checkpoint == point.code)
            rows.append(CheckpointRow(point, point.code in clear, found))
    return SideRows(side, tuple(rows))


@dataclass(frozen=True)
class WorkRow:
    """An open finding, what its gap lets in, and how much there is to win by closing it."""

    finding: Finding
    weight: int
    pests: str


@dataclass(frozen=True)
class SpotRow:
    """A checkpoint where something is found again and again."""

    name: str
    spot: HotSpot

    @property
    def years(self) -> str:
        return ", ".join(f"{year}: {count}" for year, count in self.spot.years)


@dataclass(frozen=True)
class FoundPage:
    """What was found at a property over the years and what is to be done about it."""

    place: Property
    inspections: Sequence[Inspection]
    work: tuple[WorkRow, ...]
    others: tuple[Finding, ...]
    tasks: Sequence[ExclusionTask]
    spots: tuple[SpotRow, ...]
    visit_pk: int | None

    @property
    def open_count(self) -> int:
        return len(self.work) + len(self.others)


def found_page(person: Person, place: Property, today: date) -> FoundPage:
    """The findings of a property the caller has authorized; gaps that let most in come first."""
    found = open_findings(place.pk)
    seen = seen_at(place.pk, pests_treated_at(place.pk))
    visit = own_open_visit(person, place.pk, today)
    return FoundPage(
        place=place,
        inspections=inspections_of(place.pk),
        work=tuple(
            WorkRow(one, weight, _pests(one)) for one, weight in in_order_of_work(found, seen)
        ),
        others=tuple(one for one in found if one.gap is None),
        tasks=tasks_of(place.pk),
        spots=tuple(SpotRow(BY_CODE[one.checkpoint].name, one) for one in spots_of(place)),
        visit_pk=visit.pk if visit else None,
    )


def _pests(finding: Finding) -> str:
    gap = finding.gap
    if gap is None:
        return ""
    return lets_in_words(gap)


@dataclass(frozen=True)
class FindingPage:
    """One finding: what its gap admits, its photos, tasks, zones and ending."""

    finding: Finding
    admits: tuple[Admitted, ...]
    stays_open: str
    is_referred: bool

    @property
    def is_open(self) -> bool:
        return not hasattr(self.finding, "closing")


def finding_page(person: Person, pk: int, today: date) -> FindingPage:
    """One finding within reach, else Http404."""
    finding = finding_for(reachable(person, today), pk)
    return FindingPage(
        finding=finding,
        admits=admitted_by(finding.gap) if finding.gap else (),
        stays_open=stays_open_words(finding.opening),
        is_referred=finding.pest is not None and finding.pest.kind == "refer",
    )
