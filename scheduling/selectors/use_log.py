"""The use log with the visit of each record, as a page and as rows of a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

from accounts.selectors.pages import page_of
from scheduling.models import VisitApplication
from scheduling.rules.day_words import full_day
from treatments.rules.products import Severity
from treatments.selectors.record_words import length_words
from treatments.selectors.records import (
    ProductTotal,
    UseLogFilter,
    UseRow,
    totals,
    use_log,
    use_rows,
)

if TYPE_CHECKING:
    from django.core.paginator import Page

    from treatments.models import ApplicationJudgement, ApplicationRecord

CHUNK = 500
SEVERITY_WORDS = {
    Severity.REFUSE: ("refuse", "Refused"),
    Severity.VIOLATION: ("refuse", "Violation"),
    Severity.WARN: ("check", "Check"),
    Severity.NOTE: ("open", "Note"),
}
SHOWN_FINDINGS = (Severity.REFUSE, Severity.VIOLATION, Severity.WARN)
HEADER = (
    "Record",
    "Entry",
    "Applied on",
    "Visit",
    "Visit kind",
    "Product",
    "Registration number",
    "Method",
    "Undiluted product",
    "Finished spray",
    "Treated size",
    "Rate",
    "Pests",
    "Zones",
    "Places",
    "Applicator",
    "License",
    "Customer",
    "Service address",
    "Findings",
)


@dataclass(frozen=True)
class FindingLine:
    """One judgement under its record: shape and word, sentence, clause."""

    shape: str
    word: str
    sentence: str
    clause: str


@dataclass(frozen=True)
class LogRow:
    """One application with the visit it was made at and what was found."""

    use: UseRow
    on: str
    size: str
    rate: str
    basis: str
    visit_kind: str
    visit_url: str
    visit_pk: int | None
    findings: Sequence[FindingLine]


@dataclass(frozen=True)
class UseLogPage:
    """One page of the use log and the totals of the whole selection."""

    rows: Sequence[LogRow]
    page: Page[Any]
    totals: Sequence[ProductTotal]

    @property
    def flagged(self) -> int:
        return sum(bool(row.findings) for row in self.rows)


def filter_of(wanted: Mapping[str, Any]) -> UseLogFilter:
    """The filter the records understand, from the choices of the form."""
    names = {"branch": "branch_id", "applicator": "applicator_id"}
    return UseLogFilter(**{names.get(name, name): value for name, value in wanted.items()})


def use_log_page(wanted: UseLogFilter, number: object) -> UseLogPage:
    """Read one page of the log in a fixed number of queries; the caller may see the log."""
    page = page_of(use_log(wanted), number)
    return UseLogPage(rows=_log_rows(list(page.object_list)), page=page, totals=totals(wanted))


def export_rows(wanted: UseLogFilter) -> Iterator[tuple[object, ...]]:
    """Yield the same selection as plain cells, a portion of records at a time."""
    records = use_log(wanted).iterator(chunk_size=CHUNK)
    while portion := list(islice(records, CHUNK)):
        yield from (_cells(row) for row in _log_rows(portion))


def _log_rows(records: Sequence[ApplicationRecord]) -> list[LogRow]:
    visits = _visits_of(records)
    return [
        _log_row(record, use, visits.get(record.pk))
        for record, use in zip(records, use_rows(records), strict=True)
    ]


def _visits_of(records: Sequence[ApplicationRecord]) -> dict[int, VisitApplication]:
    rows = VisitApplication.objects.filter(record_id__in=[record.pk for record in records])
    return {row.record_id: row for row in rows.select_related("visit")}


def _log_row(record: ApplicationRecord, use: UseRow, made_at: VisitApplication | None) -> LogRow:
    visit = made_at.visit if made_at else None
    rate, _, basis = use.rate.partition(" per ")
    return LogRow(
        use=use,
        on=full_day(use.applied_on),
        size=use.area or length_words(record.length_mm, record.branch.units),
        rate=rate,
        basis=basis,
        visit_kind=visit.get_kind_display() if visit else "No visit",
        visit_url=visit.get_absolute_url() if visit else "",
        visit_pk=visit.pk if visit else None,
        findings=_findings(record),
    )


def _findings(record: ApplicationRecord) -> list[FindingLine]:
    found = [one for one in record.judgements.all() if one.severity in SHOWN_FINDINGS]
    return [_finding(one) for one in found]


def _finding(one: ApplicationJudgement) -> FindingLine:
    shape, word = SEVERITY_WORDS[Severity(one.severity)]
    return FindingLine(shape, word, one.sentence, one.clause)


def _cells(row: LogRow) -> tuple[object, ...]:
    use = row.use
    return (
        use.pk,
        use.entry or "Recorded",
        use.applied_on,
        row.visit_pk,
        row.visit_kind,
        use.product,
        use.registration_number,
        use.method,
        use.amount,
        use.finished,
        row.size,
        use.rate,
        use.pests,
        use.zones,
        use.places,
        use.applicator,
        use.license_number,
        use.customer,
        use.address,
        "; ".join(f"{found.word}: {found.sentence}" for found in row.findings),
    )
