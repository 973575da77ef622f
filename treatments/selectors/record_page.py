"""Everything the page of one record shows."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import prefetch_related_objects

from accounts.rules.day_words import short_day
from sites.rules.units import air_words, group, unit_word, wind_words
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    LogFrontier,
    ResidualWindow,
    SafetyAnswer,
    TreatedArea,
)
from treatments.rules.products import Severity
from treatments.rules.questions import answer_words
from treatments.rules.state_box import BoxLine
from treatments.selectors.copies import copy_line
from treatments.selectors.loads import load_words
from treatments.selectors.notices import ingredients_words, license_words, personal, times_words
from treatments.selectors.record_box import record_box
from treatments.selectors.record_words import (
    address_of,
    area_words,
    as_entered,
    how_of,
    rate_words,
    what_of,
)
from treatments.selectors.records import record_for
from treatments.selectors.rule_gaps import MISSING
from treatments.selectors.treated_runs import runs_of

if TYPE_CHECKING:
    from accounts.models import Person

WORDS = {
    Severity.REFUSE: "Refused",
    Severity.VIOLATION: "Violation",
    Severity.WARN: "Check",
    Severity.NOTE: "Within",
}
MARKS = {
    Severity.REFUSE: "refuse",
    Severity.VIOLATION: "refuse",
    Severity.WARN: "check",
    Severity.NOTE: "ok",
}
LINES = (
    "branch",
    "label_use",
    "label_version",
    "treated_areas__windows__overrides",
    "treated_areas__runs",
    "judgements",
    "personal_values",
    "leaves",
    "answers",
)


@dataclass(frozen=True)
class CheckLine:
    """One judgement with its word and the class of its mark."""

    word: str
    mark: str
    sentence: str
    clause: str


@dataclass(frozen=True)
class LeafLine:
    """Where the record stands in the log: its leaf, the hash, how many leaves there are."""

    seq: int
    leaf_hash: str
    size: int


@dataclass(frozen=True)
class RecordPage:
    """One record in words, in the order the page shows it."""

    record: ApplicationRecord
    what: str
    amount: str
    box: tuple[BoxLine, ...]
    facts: tuple[tuple[str, str], ...]
    who: tuple[tuple[str, str], ...]
    checks: tuple[CheckLine, ...]
    answers: tuple[tuple[str, str, str], ...]
    windows: tuple[tuple[str, date, date, str], ...]
    leaf: LeafLine | None
    gaps: tuple[CheckLine, ...]
    branch_name: str
    verdict: str

    @property
    def box_halves(self) -> tuple[tuple[BoxLine, ...], ...]:
        """The box in two columns, the first one read first."""
        middle = (len(self.box) + 1) // 2
        return self.box[:middle], self.box[middle:]


def record_page(person: Person, pk: int, property_ids: Collection[int] = frozenset()) -> RecordPage:
    """The page of a record that the person may see, else Http404; a fixed number of queries."""
    record = record_for(person, pk, property_ids)
    prefetch_related_objects([record], *LINES)
    said = personal(record)
    checks = tuple(_check(one) for one in _judged(record))
    return RecordPage(
        record=record,
        what=what_of(record),
        amount=as_entered(record.product_amount, record.product_unit),
        box=(*record_box(record, said), copy_line(record)),
        facts=_filled(
            facts_words(record, said, load_words(record.load_ref, record.label_version_id))
        ),
        who=_filled(who_words(record, said)),
        checks=checks,
        answers=tuple(_answer(one, said) for one in record.answers.all()),
        windows=_windows(record),
        leaf=_leaf(record),
        gaps=tuple(_check(one) for one in record.judgements.all() if one.code == MISSING),
        branch_name=record.branch_name,
        verdict=_verdict(checks),
    )


def _judged(record: ApplicationRecord) -> list[ApplicationJudgement]:
    """The judgements but those of questions that were answered well: these stand by themselves."""
    asked = {one.code for one in record.answers.all()}
    judged = record.judgements.all()
    return [one for one in judged if one.severity != Severity.NOTE or one.code not in asked]


def _check(judgement: ApplicationJudgement) -> CheckLine:
    severity = Severity(judgement.severity)
    sentence, clause = judgement.sentence, judgement.clause
    return CheckLine(WORDS[severity], MARKS[severity], sentence, clause)


def _answer(row: SafetyAnswer, said: dict[str, str]) -> tuple[str, str, str]:
    if row.answer:
        return row.words, answer_words(row.answer), row.clause
    return row.words, said.get(row.code, "no longer kept"), row.clause


def _verdict(checks: Collection[CheckLine]) -> str:
    count = {mark: sum(1 for one in checks if one.mark == mark) for mark in ("refuse", "check")}
    if count["refuse"]:
        return f"{count['refuse']} of its limits not kept"
    if count["check"]:
        return f"inside every limit of the label, {count['check']} to check"
    return "inside every limit of the label" if checks else "not judged by a label"


def _filled(rows: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
    return tuple((name, value) for name, value in rows if value)


def facts_words(
    record: ApplicationRecord, said: dict[str, str], load: str
) -> tuple[tuple[str, str], ...]:
    """What was done with what and where, named; empty where nothing was written down."""
    areas = record.treated_areas.all()
    return (
        ("Property", address_of(record, said.get("street", ""))),
        ("Customer", said.get("customer_name", "")),
        ("Customer's phone", said.get("customer_phone", "")),
        ("Time", times_words(record)),
        ("Product", _product(record)),
        ("Registration", record.registration_number),
        ("Active ingredient", ingredients_words(record)),
        ("Product used", as_entered(record.product_amount, record.product_unit)),
        ("Finished spray", as_entered(record.finished_amount, record.finished_unit)),
        ("Zones", "; ".join(_zone(area) for area in areas)),
        ("Wall runs treated", _runs(areas, is_done=True)),
        ("Left out", _runs(areas, is_done=False)),
        ("Area", area_words(record.area_mm2, record.branch.units)),
        ("Rate", rate_words(record)),
        ("Percent active", f"{record.percent_active} %" if record.percent_active else ""),
        ("Supplier", record.product_supplier),
        ("Mixed at", said.get("mixing_location", "")),
        ("Where exactly", said.get("location_detail", "")),
        ("Method", how_of(record)),
        ("Equipment", record.equipment),
        ("From a load", load),
        ("Pests", ", ".join(record.pests)),
        ("Weather", _weather(record)),
        ("What was done", said.get("work_done", "")),
        ("Notes", said.get("notes", "")),
    )


def _product(record: ApplicationRecord) -> str:
    if record.label_version is None:
        return "none was put down"
    return f"{record.product_name}, label of {short_day(record.label_version.label_date, True)}"


def _zone(area: TreatedArea) -> str:
    return f"{area.zone_name}, {group(Decimal(area.size))} {unit_word(area.size_unit)}"


def _runs(areas: Iterable[TreatedArea], *, is_done: bool) -> str:
    """The wall runs of the zones, treated or left out."""
    every = [run for area in areas for run in runs_of(area)]
    return "; ".join(run.words for run in every if run.is_done == is_done)


def _weather(record: ApplicationRecord) -> str:
    """The readings in the units of the branch, as they were typed; the leaf keeps mph and °F."""
    system = record.branch.units
    parts = []
    if record.wind_mph:
        parts.append(f"wind {wind_words(Decimal(record.wind_mph), system)}")
    if record.wind_direction:
        parts.append(f"from {record.wind_direction}")
    if record.temperature_f:
        parts.append(air_words(Decimal(record.temperature_f), system))
    if record.conditions:
        parts.append(record.conditions)
    if parts and record.weather_source:
        parts.append(f"read from {record.weather_source}")
    return ", ".join(parts)


def who_words(record: ApplicationRecord, said: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """Who did it, under which license and which rules, named."""
    kind, number = license_words(record.license_kind), record.license_number
    license = f"{kind}, {number}" if number else "none in force on that day"
    confirmed = "confirmed" if record.protective_equipment_confirmed else "not confirmed"
    return (
        ("Applicator", said.get("applicator_name", "")),
        ("License", license),
        ("Supervisor", said.get("supervisor_name", "")),
        ("Who helped", said.get("participants", "")),
        ("Business license", record.business_license_number),
        ("Protective equipment", confirmed if record.label_version_id else ""),
        ("Re-entry", record.reentry_text),
        ("Rules followed", ", ".join(record.profile_codes)),
        ("Kept until", short_day(record.retain_until, True)),
    )  # fmt: skip


def _windows(record: ApplicationRecord) -> tuple[tuple[str, date, date, str], ...]:
    found: list[tuple[str, ResidualWindow]] = [
        (area.zone_name, window)
        for area in record.treated_areas.all()
        for window in area.windows.all()
    ]
    return tuple(
        (
            f"{name}, {window.get_pest_group_display().lower()}",
            window.opens_on,
            window.lapses_on,
            window.sentence,
        )
        for name, window in found
    )


def _leaf(record: ApplicationRecord) -> LeafLine | None:
    entry = next(iter(record.leaves.all()), None)
    if entry is None:
        return None
    frontier = LogFrontier.objects.filter(branch_id=record.branch_id).first()
    return LeafLine(entry.seq, entry.leaf_hash, frontier.size if frontier else 0)
