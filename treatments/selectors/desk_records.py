"""The records of a question at the desk: each with every version, whatever was said of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from treatments.models import ApplicationRecord, LogEntry
from treatments.rules.desk import DeskRecord, DeskVersion
from treatments.rules.effective import EntryKind
from treatments.rules.products import METHOD_WORDS, Method, Severity
from treatments.selectors.entry_history import Version, versions_of
from treatments.selectors.loads import loads_words
from treatments.selectors.notices import personal
from treatments.selectors.record_page import WORDS, facts_words, who_words
from treatments.selectors.record_words import address_of, as_entered
from treatments.selectors.windows import in_portions

if TYPE_CHECKING:
    from treatments.selectors.entry_words import ChangeWords

RELATED = (
    "branch",
    "created_by",
    "approved_by",
    "applicator",
    "label_version__product",
    "label_use__label_version",
)
LINES = ("treated_areas__runs", "personal_values", "answers", "judgements")
SHOWN_BY_ITSELF = ("Property", "Customer", "Time", "Product used", "Weather", "Registration")
Histories = list[list[ApplicationRecord]]
Later = dict[int | None, ApplicationRecord]


def histories_of(keys: Iterable[int]) -> Histories:
    """Whole histories, the first entry first, the last work first; a fixed number of queries."""
    entries: dict[int, ApplicationRecord] = {}
    for portion in in_portions(sorted(keys)):
        rows = ApplicationRecord.objects.filter(pk__in=portion).select_related(*RELATED)
        entries |= {row.pk: row for row in rows.prefetch_related(*LINES)}
    later: Later = {row.corrects_id: row for row in entries.values() if row.corrects_id}
    firsts = [row for row in entries.values() if row.corrects_id not in entries]
    found = [list(_chain(first, later)) for first in firsts]
    return sorted(found, key=lambda chain: (chain[-1].applied_on, chain[-1].pk), reverse=True)


def _chain(first: ApplicationRecord, later: Later) -> Iterator[ApplicationRecord]:
    entry: ApplicationRecord | None = first
    while entry is not None:
        yield entry
        entry = later.get(entry.pk)


def desk_records(histories: Histories) -> list[DeskRecord]:
    """Each history as one record in words."""
    last = [chain[-1].pk for chain in histories]
    leaves = {
        record_id: (seq, leaf_hash)
        for portion in in_portions(last)
        for record_id, seq, leaf_hash in LogEntry.objects.filter(record__in=portion).values_list(
            "record_id", "seq", "leaf_hash"
        )
    }
    loads = loads_words({_named(chain) for chain in histories})
    return [_record(chain, leaves.get(chain[-1].pk), loads[_named(chain)]) for chain in histories]


def _named(chain: list[ApplicationRecord]) -> tuple[str, int | None]:
    return chain[-1].load_ref, chain[-1].label_version_id


def _record(chain: list[ApplicationRecord], leaf: tuple[int, str] | None, load: str) -> DeskRecord:
    record = chain[-1]
    said = personal(record)
    facts = dict(facts_words(record, said, load))
    who = dict(who_words(record, said))
    more = {name: value for name, value in facts.items() if name not in SHOWN_BY_ITSELF}
    rest = {name: value for name, value in who.items() if name not in ("Applicator", "License")}
    return DeskRecord(
        pk=record.pk,
        applied_on=record.applied_on,
        times=facts["Time"],
        is_void=record.entry == EntryKind.VOID,
        what=record.product_name or METHOD_WORDS[Method(record.method)],
        registration_number=record.registration_number,
        amount=as_entered(record.product_amount, record.product_unit),
        where=address_of(record, said.get("street", "")),
        customer=said.get("customer_name", "no longer kept"),
        applicator=said.get("applicator_name", "no longer kept"),
        license=who["License"],
        weather=facts["Weather"],
        facts=tuple((name, value) for name, value in {**more, **rest}.items() if value),
        judged=_judged(record),
        versions=_versions(chain),
        leaf=leaf[0] if leaf else None,
        leaf_hash=leaf[1] if leaf else "",
    )


def _judged(record: ApplicationRecord) -> tuple[tuple[str, str, str, str], ...]:
    """What was found, in the order it was judged: mark, word, sentence, clause."""
    return tuple(
        (one.severity, WORDS[Severity(one.severity)], one.sentence, one.clause)
        for one in record.judgements.all()
        if one.severity != Severity.NOTE
    )


def _versions(chain: list[ApplicationRecord]) -> tuple[DeskVersion, ...]:
    return tuple(_version(one) for one in versions_of(chain))


def _version(one: Version) -> DeskVersion:
    word = f"{one.word}, late" if one.is_late else one.word
    approved = f"{one.approved_by} (one-person firm)" if one.is_one_person_firm else one.approved_by
    changes = tuple(_change(change) for change in one.changes)
    return DeskVersion(one.number, word, one.at, one.by, approved, one.reason, changes)


def _change(one: ChangeWords) -> str:
    return f"{one.field}: {one.new} instead of {one.old}"
