"""Beside the records of a question: who applied them, weather, rules followed, open matters."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from accounts.rules.day_words import short_day
from accounts.selectors.open_items import kind_words, open_about
from accounts.selectors.people import licenses_between
from treatments.models import ApplicationRecord, CorrectionRequest
from treatments.rules.desk import DeskList, counted
from treatments.rules.effective import EntryKind
from treatments.rules.products import Severity
from treatments.selectors.desk_records import Histories
from treatments.selectors.notices import license_words, personal
from treatments.selectors.profiles import profile_rows
from treatments.selectors.rule_gaps import LATE, MISSING
from treatments.selectors.windows import in_portions

RECORD = "treatments.applicationrecord"
READINGS = (
    ("Wind", "wind_mph"),
    ("Wind direction", "wind_direction"),
    ("Temperature", "temperature_f"),
    ("Read from", "weather_source"),
)
RULE_WORDS = {MISSING: "Gap", LATE: "Late"}


def counting(histories: Histories) -> list[ApplicationRecord]:
    """The last entry of each record that was not voided."""
    return [chain[-1] for chain in histories if chain[-1].entry != EntryKind.VOID]


def people_list(histories: Histories) -> DeskList:
    """Who applied: the license on the records, and what the register says of those days."""
    by_person: dict[tuple[int, str], list[ApplicationRecord]] = defaultdict(list)
    records = counting(histories)
    for record in records:
        by_person[record.applicator_id, record.state].append(record)
    register = _register(records)
    rows = [_person_row(state, some, register[key]) for key, some in by_person.items()
            for state in [key[1]]]  # fmt: skip
    bare = sum(not record.license_number for record in records)
    head = ("Applicator", "State", "License on the records", "Register in those days", "Records")
    return DeskList(
        "people",
        "Who applied it, and licenses on those days",
        counted(len(rows), "applicator"),
        head,
        tuple(sorted(rows)),
        (f"{counted(bare, 'record')} without a license in force that day.",) if bare else (),
    )


def _register(records: list[ApplicationRecord]) -> dict[tuple[int, str], list[str]]:
    found: dict[tuple[int, str], list[str]] = defaultdict(list)
    if not records:
        return found
    days = [record.applied_on for record in records]
    held = licenses_between({record.applicator_id for record in records}, min(days), max(days))
    for one in held:
        words = f"{license_words(one.kind)} {one.number}, {_days(one.issued_on, one.expires_on)}"
        if one.categories:
            words += f", categories {one.categories}"
        if one.supervisor:
            words += f", in charge {one.supervisor.full_name}"
        found[one.person_id, one.state].append(words)
    return found


def _days(since: date, until: date) -> str:
    return f"{short_day(since, True)} to {short_day(until, True)}"


def _person_row(
    state: str, records: list[ApplicationRecord], register: list[str]
) -> tuple[str, ...]:
    names = sorted({personal(one).get("applicator_name", "no longer kept") for one in records})
    licenses = sorted({_on_record(one) for one in records})
    held = "; ".join(register) or "none in the register"
    return ", ".join(names), state, "; ".join(licenses), held, str(len(records))


def _on_record(record: ApplicationRecord) -> str:
    if not record.license_number:
        return "none in force"
    words = f"{license_words(record.license_kind)} {record.license_number}"
    if record.license_expires_on:
        words += f", until {short_day(record.license_expires_on, True)}"
    if record.supervisor_license_number:
        words += f", supervisor's license {record.supervisor_license_number}"
    return words


def weather_list(histories: Histories) -> DeskList:
    """How many records have each reading; the readings stand with their records."""
    records = counting(histories)
    rows = []
    for words, column in READINGS:
        given = sum(bool(getattr(record, column)) for record in records)
        rows.append((words, str(given), str(len(records) - given)))
    none = sum(not any(getattr(record, column) for _, column in READINGS[:3]) for record in records)
    return DeskList(
        "weather",
        "Weather as it was recorded",
        "the readings stand with each record",
        ("Reading", "Written down", "Not written down"),
        tuple(rows) if records else (),
        (f"{counted(none, 'record')} without any reading of the weather.",) if none else (),
    )


def rules_list(histories: Histories) -> DeskList:
    """The versions of rules that the records followed, and whether somebody verified them."""
    followed: dict[str, int] = defaultdict(int)
    records = counting(histories)
    for record in records:
        for name in record.profile_codes:
            followed[name] += 1
    kept = {f"{row.code}/{row.version}": row for row in profile_rows()} if followed else {}
    rows = []
    for name, count in sorted(followed.items()):
        row = kept.get(name)
        rows.append(
            (
                name,
                row.citation if row else "not kept any more",
                short_day(row.effective_on, True) if row else "",
                "verified" if row and row.is_verified else "not verified",  # type: ignore[attr-defined]
                str(count),
            )
        )
    none = sum(not record.profile_codes for record in records)
    return DeskList(
        "rules",
        "Rules the records followed",
        counted(len(rows), "version", "versions"),
        ("Rule", "Citation", "In force from", "Verified here", "Records"),
        tuple(rows),
        (f"{counted(none, 'record')} that names no rule.",) if none else (),
    )


def open_list(histories: Histories, now: datetime) -> DeskList:
    """What is open about the records: gaps, late ones, corrections asked for, open items."""
    rows = [*_gaps(counting(histories)), *_past_due(counting(histories), now)]
    rows += [*_requests(histories), *_items(histories)]
    return DeskList(
        "open",
        "What is open about them",
        counted(len(rows), "matter") if rows else "nothing is open",
        ("Record", "What", "In words"),
        tuple(sorted(rows, key=lambda row: int(row[0]), reverse=True)),
    )


def _gaps(records: Iterable[ApplicationRecord]) -> Iterator[tuple[str, ...]]:
    for record in records:
        for one in record.judgements.all():
            word = RULE_WORDS.get(one.code)
            if word and one.severity != Severity.NOTE:
                yield str(record.pk), word, one.sentence


def _past_due(records: Iterable[ApplicationRecord], now: datetime) -> Iterator[tuple[str, ...]]:
    for record in records:
        gaps = any(one.code == MISSING for one in record.judgements.all())
        if gaps and record.complete_by and record.complete_by < now:
            at = record.complete_by.astimezone(ZoneInfo(record.branch.time_zone))
            yield str(record.pk), "Past due", f"Was to be complete by {at:%b} {at.day}, {at.year}."


def _requests(histories: Histories) -> Iterator[tuple[str, ...]]:
    keys = [entry.pk for chain in histories for entry in chain]
    for portion in in_portions(keys):
        asked = CorrectionRequest.objects.filter(
            record__in=portion, state=CorrectionRequest.State.ASKED
        )
        for one in asked.order_by("pk"):
            yield str(one.record_id), f"{one.get_kind_display()} asked for", one.reason


def _items(histories: Histories) -> Iterator[tuple[str, ...]]:
    keys = [entry.pk for chain in histories for entry in chain]
    for portion in in_portions(keys):
        for item in open_about([f"{RECORD}:{key}" for key in portion]):
            yield item.thing.rpartition(":")[2], kind_words(item.code), item.sentence
