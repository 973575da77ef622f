"""The customer's copy of what was recorded: the paper, whom it may go to, who has it already."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from accounts.rules.day_words import short_day
from accounts.rules.phones import readable
from accounts.selectors.customers import contacts_of
from scheduling.models import Visit
from scheduling.selectors.notices import notice_of
from scheduling.selectors.today import zone_of
from treatments.reports.notice_words import Notice
from treatments.rules.copies import CopyDue, on_request
from treatments.selectors.copies import CopyLine, copies_of, copy_rules, dues_of, with_earlier
from treatments.selectors.entries import entries_beside
from treatments.selectors.notices import notice_of_record
from treatments.selectors.record_words import address_of, how_of, what_of
from treatments.selectors.records import record_for, records_of_visit

if TYPE_CHECKING:
    from datetime import datetime

    from accounts.models import Branch, Contact, Person
    from treatments.models import ApplicationRecord

LEFT = "left at the property"


@dataclass(frozen=True)
class CopyWork:
    """What one copy covers: the records in force of a visit, or one record without a visit.

    `standing` is empty where everything was voided; `asked` is the entry somebody asked about, in
    force or void, with the names of its day.
    """

    asked: ApplicationRecord
    standing: tuple[ApplicationRecord, ...]
    visit: Visit | None

    @property
    def keys(self) -> tuple[int, ...]:
        """The entries a copy made now carries."""
        return tuple(one.pk for one in self.standing) or (self.asked.pk,)

    @property
    def branch(self) -> Branch:
        return self.asked.branch


@dataclass(frozen=True)
class CopyPanel:
    """What a page says about copies: whom to give one, who has it, what the state asks."""

    pk: int
    what: str
    is_void: bool
    to: tuple[tuple[str, str], ...]
    lines: tuple[tuple[CopyLine, str], ...]
    asked: str
    mind: tuple[str, ...]
    is_given: bool


def copy_work(person: Person, pk: int) -> CopyWork:
    """What a copy of a record covers, for somebody who may see it; otherwise Http404."""
    return work_of(entries_beside(record_for(person, pk))[-1])


def work_of(entry: ApplicationRecord) -> CopyWork:
    """What a copy covers that is made for the last entry of a record."""
    ref = entry.visit_ref
    visit = Visit.objects.filter(ref=ref).select_related("property").first() if ref else None
    standing = tuple(records_of_visit(ref)) if visit else ()
    if not standing and entry.entry != entry.Entry.VOID:
        standing = (entry,)
    return CopyWork(entry, standing, visit)


def paper_of(work: CopyWork, *, demo: bool) -> Notice | None:
    """What the copy says; None where nothing stands any more."""
    if not work.standing:
        return None
    if work.visit is not None:
        return notice_of(work.visit, demo=demo)
    return notice_of_record(record=work.asked, demo=demo)


def values_of(work: CopyWork, said: dict[str, str], change: str = "") -> dict[str, str]:
    """What fills the placeholders of a copy; `said` are personal values of the record."""
    records = work.standing or (work.asked,)
    branch = work.branch
    return {
        "customer": said.get("customer_name", ""),
        "property": address_of(work.asked, said.get("street", "")),
        "day": short_day(work.asked.applied_on, True),
        "work": "; ".join(dict.fromkeys(_work(one) for one in records)),
        "change": change,
        "firm": work.asked.branch_name,
        "firm_phone": readable(branch.phone),
        "after_hours": readable(branch.after_hours_phone),
    }


def _work(record: ApplicationRecord) -> str:
    name = record.product_name
    return f"{name}, {how_of(record)}" if name else how_of(record)


def copy_panel(person: Person, pk: int, now: datetime) -> CopyPanel:
    """What the page of a record's copy says, for somebody who may see the record."""
    return _panel(copy_work(person, pk), _today(person, now))


def copy_panel_at(
    person: Person, visit: Visit, records: Sequence[ApplicationRecord], now: datetime
) -> CopyPanel | None:
    """The same for one's own stop and its records in force; None where there are none."""
    if not records:
        return None
    return _panel(CopyWork(records[-1], tuple(records), visit), _today(person, now))


def _today(person: Person, now: datetime) -> date:
    return now.astimezone(zone_of(person)).date()


def _panel(work: CopyWork, today: date) -> CopyPanel:
    records = work.standing or (work.asked,)
    lines = copies_of(with_earlier(records))
    dues = list(dues_of(records).values())
    rules = [rule for some in copy_rules(records).values() for rule in some]
    given = {entry for line in lines if line.leaves_a_copy for entry in line.entries}
    return CopyPanel(
        pk=work.asked.pk,
        what=", ".join(dict.fromkeys(what_of(one) for one in records)),
        is_void=not work.standing,
        to=recipients(contacts_of(_customer_of(work))),
        lines=tuple((line, _of_which(line, work.keys)) for line in lines),
        asked=_first(dues).sentence(today) if dues else "",
        mind=tuple(filter(None, (*_notes(dues), on_request(rules)))),
        is_given=given.issuperset(work.keys),
    )


def _customer_of(work: CopyWork) -> int:
    place = work.visit.property if work.visit else work.asked.property
    return place.customer_id


def _first(dues: Sequence[CopyDue]) -> CopyDue:
    return min(dues, key=lambda one: one.last_day)


def _notes(dues: Sequence[CopyDue]) -> list[str]:
    return list(dict.fromkeys(one.rule.note for one in dues))


def _of_which(line: CopyLine, keys: Sequence[int]) -> str:
    """Whether a copy is one of what stands now."""
    return "" if set(line.entries).issuperset(keys) else "not all that stands now"


def recipients(contacts: Iterable[Contact]) -> tuple[tuple[str, str], ...]:
    """Whom a copy may go to, who wants notices first, and last nobody: left at the property."""
    rows = sorted(contacts, key=lambda one: not one.wants_notices)
    named = [(str(one.pk), _contact(one)) for one in rows]
    return (*named, (LEFT, "Nobody met: left at the property"))


def _contact(one: Contact) -> str:
    how = one.email or "no e-mail"
    return f"{one.name}, {how if one.wants_notices else 'wants no notices'}"
