"""Standing entries as the checks of the audit read them, and which of them to look at again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date, timedelta
from uuid import UUID

from django.db.models import F, Max, Min

from accounts.rules.day_words import short_day
from accounts.rules.item_watch import Finding
from accounts.selectors.audit import events_about
from accounts.selectors.open_items import things_open
from treatments.models import ApplicationJudgement, ApplicationRecord, Load
from treatments.rules.audit.days import impossible
from treatments.rules.audit.facts import Job, RecordFacts, Said, Strength
from treatments.rules.audit.kinds import COPY, RECORD_KINDS, TIMES
from treatments.rules.audit.records import audit
from treatments.rules.products import METHOD_WORDS, Method
from treatments.selectors.copies import late_copies
from treatments.selectors.notices import personal

AUDITED = "audit_records"
THING = ApplicationRecord._meta.label_lower
LOOK_BACK = timedelta(days=35)  # what is older was looked at on every night before (house rule)
A_YEAR = timedelta(days=366)
ROWS = ("label_use", "label_version__product", "property__customer")
LINES = ("judgements", "personal_values")
DAY = timedelta(days=1)


def thing_of(pk: int) -> str:
    """How an open item names an entry."""
    return f"{THING}:{pk}"


def keys_of(things: Iterable[str]) -> set[int]:
    """The keys of the entries among the things that items name."""
    named = (thing.rpartition(":") for thing in things)
    return {int(key) for label, _, key in named if label == THING and key.isdecimal()}


def to_look_at(today: date) -> list[int]:
    """Entries to check tonight, by day: recent ones, those with an open item, other numbers.

    `today` is the day of the firm. A product whose number was changed is looked for over a year.
    """
    rows = ApplicationRecord.objects.effective()
    recent = rows.filter(applied_on__gte=today - LOOK_BACK)
    other = rows.filter(applied_on__gte=today - A_YEAR).exclude(
        registration_number=F("label_version__product__registration_number")
    )
    keys = {*recent.values_list("pk", flat=True)}
    keys |= {*other.filter(label_version__isnull=False).values_list("pk", flat=True)}
    return sorted(keys | keys_of(things_open(RECORD_KINDS)))


def was_audited(today: date) -> bool:
    """Whether the records were audited on this day of the firm."""
    last = events_about(["records"], [AUDITED]).order_by("-at").first()
    return last is not None and last.details.get("day") == today.isoformat()


def findings_of(keys: Collection[int], today: date) -> list[Finding]:
    """What is wrong with these entries; nothing with one that is followed or void.

    `today` is the day of the firm. A fixed number of queries, for at most some hundred entries of
    a few days; one more for each step back of those whose copy is late.
    """
    rows = ApplicationRecord.objects.effective().filter(pk__in=keys)
    records = list(rows.select_related(*ROWS).prefetch_related(*LINES))
    loads = _loads({one.load_ref for one in records if one.load_ref})
    wrong_times, late = _impossible(records), late_copies(records, today)
    found = []
    for record in records:
        facts = record_facts(
            record, personal(record), record.judgements.all(), loads.get(record.load_ref)
        )
        said = audit(facts)
        if record.pk in wrong_times:
            said[TIMES] = f"{facts.about}: {wrong_times[record.pk]}"
        if record.pk in late:
            said[COPY] = f"{facts.about}: {late[record.pk]}"
        found += _findings(record, said)
    return found


def findings_in(
    record: ApplicationRecord, said: Mapping[str, str], judged: Iterable[ApplicationJudgement]
) -> list[Finding]:
    """What is wrong with an entry that was just stored, by itself alone; nothing is read."""
    return _findings(record, audit(record_facts(record, said, judged, None)))


def _findings(record: ApplicationRecord, said: Mapping[str, str]) -> list[Finding]:
    return [
        Finding(code, record.branch_id, thing_of(record.pk), sentence)
        for code, sentence in said.items()
    ]


def record_facts(
    record: ApplicationRecord,
    said: Mapping[str, str],
    judged: Iterable[ApplicationJudgement],
    load: Strength | None,
) -> RecordFacts:
    """One entry with its personal values, judgements and load as the checks ask about it."""
    what = record.product_name or METHOD_WORDS[Method(record.method)]
    label = record.label_version
    return RecordFacts(
        about=f"{what}, {short_day(record.applied_on, True)}",
        kind=record.registration_kind,
        number=record.registration_number,
        product_number=label.product.registration_number if label else "",
        basis=record.label_use.rate_basis if record.label_use else "",
        has_amount=bool(record.product_amount),
        has_finished=bool(record.finished_amount),
        product_ul=record.product_ul,
        product_mg=record.product_mg,
        finished_ul=record.finished_ul,
        area_mm2=record.area_mm2,
        length_mm=record.length_mm,
        load=load,
        names=_names(record, said),
        judged=tuple(Said(one.code, one.severity, one.sentence) for one in judged),
    )


def _names(record: ApplicationRecord, said: Mapping[str, str]) -> dict[str, str]:
    """Names of people; a firm may be called by one word."""
    named = {"applicator": "applicator_name", "supervisor": "supervisor_name"}
    if record.property.customer.kind == "residential":
        named["customer"] = "customer_name"
    return {what: said.get(field, "") for what, field in named.items()}


def _loads(refs: Collection[str]) -> dict[str, Strength]:
    rows = Load.objects.filter(client_ref__in=[UUID(ref) for ref in refs])
    return {one.ref: Strength(one.product, one.finished_ul) for one in rows}


def _impossible(records: Collection[ApplicationRecord]) -> dict[int, str]:
    """Check A14 over all that the same people did on the days of these entries and beside them."""
    people = {one.applicator_id for one in records}
    rows = ApplicationRecord.objects.filter(pk__in=[one.pk for one in records])
    span = rows.aggregate(first=Min("applied_on"), last=Max("applied_on"))
    if span["first"] is None:
        return {}
    jobs = ApplicationRecord.objects.effective().filter(
        applicator__in=people, applied_on__range=(span["first"] - DAY, span["last"] + DAY)
    )
    places = ("property__latitude", "property__longitude")
    fields = ("pk", "applicator_id", "property_id", "started_at", "finished_at", *places)
    return impossible(Job(*row) for row in jobs.values_list(*fields))
