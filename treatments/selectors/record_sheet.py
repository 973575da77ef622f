"""A record as its paper says it: any version, with what stands in its place."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from accounts.rules.day_words import clock, short_day
from treatments.reports.record_words import RecordSheet
from treatments.selectors.entry_history import History, Version, history_for
from treatments.selectors.record_page import RecordPage, record_page

if TYPE_CHECKING:
    from accounts.models import Person

Row = tuple[str, str]
Part = tuple[str, tuple[Row, ...]]


def record_sheet(person: Person, pk: int, *, now: datetime, demo: bool) -> RecordSheet:
    """The paper of one version of a record that the person may see, else Http404."""
    page = record_page(person, pk)
    history, zone = history_for(person, page.record), ZoneInfo(page.record.branch.time_zone)
    here = now.astimezone(zone)
    return RecordSheet(
        number=pk,
        version=f"version {history.shown.number} of {len(history.versions)}",
        firm=page.branch_name,
        as_of=f"{short_day(here.date(), True)}, {clock(here)}",
        marks=_marks(history),
        box=tuple((line.name, line.words) for line in page.box),
        strong=frozenset(line.name for line in page.box if line.is_missing),
        parts=_parts(page, history, zone),
        leaf=_leaf(page),
        demo=demo,
    )


def _marks(history: History) -> tuple[str, ...]:
    last, shown = history.last, history.shown
    if last.is_void:
        return (f"VOIDED: this record counts nowhere. {last.reason}",)
    if not shown.is_now:
        return (f"NOT IN FORCE: record {last.pk}, version {last.number}, stands in its place.",)
    if len(history.versions) > 1:
        return (f"CORRECTED OR COMPLETED: version {shown.number} is in force.",)
    return ()


def _parts(page: RecordPage, history: History, zone: ZoneInfo) -> tuple[Part, ...]:
    checks = tuple((one.word, f"{one.sentence} {one.clause}".strip()) for one in page.checks)
    answers = tuple((words, f"{answer}. {clause}") for words, answer, clause in page.answers)
    windows = tuple(
        (name, f"until {short_day(until, True)}, return from {short_day(opens, True)}; {why}")
        for name, opens, until, why in page.windows
    )
    versions = tuple(_version(one, zone) for one in history.versions)
    return (
        ("What was done", page.facts),
        ("Who, and after", page.who),
        ("How long it holds", windows),
        ("Label check, after the work", checks),
        ("Safety questions", answers),
        ("Versions, the last one counts", versions),
    )


def _version(one: Version, zone: ZoneInfo) -> Row:
    at = one.at.astimezone(zone)
    said = [f"{one.word}, {short_day(at.date(), True)}, {clock(at)}"]
    said += [f"by {one.by}"] if one.by else []
    said += [f"approved by {one.approved_by}"] if one.approved_by else []
    said += ["one-person firm"] if one.is_one_person_firm else []
    changes = [f"{change.field}: {change.new} instead of {change.old}" for change in one.changes]
    reason = [one.reason] if one.reason else []
    return f"Record {one.pk}, version {one.number}", "\n".join([", ".join(said), *reason, *changes])


def _leaf(page: RecordPage) -> str:
    if page.leaf is None:
        return "Not in the log: this record has no leaf."
    return f"Leaf {page.leaf.seq} of {page.leaf.size} in the log, hash {page.leaf.leaf_hash}"
