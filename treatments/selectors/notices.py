"""What a notice after treatment says, from the records of one visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.http import Http404

from accounts.rules.phones import readable
from sites.rules.places import PLACE_WORDS, Place
from sites.rules.units import plain
from treatments.models import ApplicationRecord
from treatments.reports.notice_words import Applicator, Firm, Notice, NoticeRecord, NotTreated
from treatments.rules.products import (
    LICENSE_KIND_WORDS,
    SIGNAL_WORD_WORDS,
    SignalWord,
)
from treatments.selectors.record_words import address_of, area_words, as_entered, how_of
from treatments.selectors.records import keys_of_visit, with_names
from treatments.selectors.treated_runs import left_out_of, runs_of

if TYPE_CHECKING:
    from datetime import date

    from accounts.models import Branch

LINES = ("treated_areas__runs", "personal_values")


def notice_of_visit(
    *, visit_ref: str, demo: bool, not_treated: Sequence[NotTreated] = ()
) -> Notice:
    """The notice over every effective record of a visit; Http404 when there is none.

    The caller has seen to it that the visit may be shown; `not_treated` is what was left out.
    """
    return _notice(keys_of_visit(visit_ref), demo, not_treated)


def notice_of_record(
    *, record: ApplicationRecord, demo: bool, not_treated: Sequence[NotTreated] = ()
) -> Notice:
    """The notice over one record that the caller may show."""
    return _notice([record.pk], demo, not_treated)


def _notice(keys: list[int], demo: bool, not_treated: Sequence[NotTreated]) -> Notice:
    rows = ApplicationRecord.objects.filter(pk__in=keys).order_by("pk")
    rows = rows.select_related("branch", "label_version__product")
    records = list(with_names(rows).prefetch_related(*LINES))
    if not records:
        raise Http404
    first = records[0]
    said = personal(first)
    return Notice(
        firm=_firm(first, first.branch),
        customer=said.get("customer_name", ""),
        address=address_of(first, said.get("street", "")),
        treated_on=first.applied_on,
        records=tuple(_treatment(loads) for loads in _treatments(records)),
        not_treated=(*_runs_left_out(records), *not_treated),
        demo=demo,
        corrected_on=_corrected_on(records),
    )


def _runs_left_out(records: Sequence[ApplicationRecord]) -> list[NotTreated]:
    """The wall runs left out of what was treated, unless another record of these treated them."""
    areas = [area for record in records for area in record.treated_areas.all()]
    done = {
        f"{area.zone_name}: {run.name}" for area in areas for run in runs_of(area) if run.is_done
    }
    rows = dict(left_out_of(areas))
    return [NotTreated(place, why) for place, why in rows.items() if place not in done]


def _corrected_on(records: Sequence[ApplicationRecord]) -> date | None:
    """The day at the branch of the last correction among the records, if there is one."""
    made = [one.created_at for one in records if one.entry == ApplicationRecord.Entry.CORRECTION]
    if not made:
        return None
    return max(made).astimezone(ZoneInfo(records[0].branch.time_zone)).date()


def personal(record: ApplicationRecord) -> dict[str, str]:
    """The personal values of a record that are still kept."""
    return {row.field: row.value for row in record.personal_values.all()}


def _firm(record: ApplicationRecord, branch: Branch) -> Firm:
    town = f"{branch.city}, {branch.state} {branch.zip_code}".strip()
    return Firm(
        name=record.branch_name,
        address=", ".join(part for part in (branch.street, town) if part),
        license_number=record.business_license_number,
        phone=readable(branch.phone),
        after_hours=readable(branch.after_hours_phone),
    )


def _treatments(records: Sequence[ApplicationRecord]) -> list[list[ApplicationRecord]]:
    """The records by treatment: loads of one direction on the same zones and pests are one."""
    found: dict[object, list[ApplicationRecord]] = {}
    for record in records:
        found.setdefault(_what(record), []).append(record)
    return list(found.values())


def _what(record: ApplicationRecord) -> object:
    if record.label_use_id is None:
        return record.pk
    zones = frozenset((area.zone_id, area.area_mm2) for area in record.treated_areas.all())
    who = (record.applicator_id, record.license_number, record.visit_ref, record.applied_on)
    return record.label_use_id, record.method, zones, frozenset(record.pests), who


def _treatment(loads: Sequence[ApplicationRecord]) -> NoticeRecord:
    """One treatment with what all its loads put out, and each load by itself."""
    told = _record(loads[0])
    if len(loads) == 1:
        return told
    return replace(
        told,
        amount=_sum([(one.product_amount, one.product_unit) for one in loads]),
        finished=_sum([(one.finished_amount, one.finished_unit) for one in loads]),
        times=", ".join(times_words(one) for one in loads),
        loads=tuple(_load(one) for one in loads),
    )


def _sum(amounts: Sequence[tuple[str, str]]) -> str:
    """Amounts of one unit added up, of several side by side; empty when one was not written."""
    if not all(text for text, _ in amounts):
        return ""
    units = dict.fromkeys(unit for _, unit in amounts)
    sums = [
        (sum((Decimal(text) for text, one in amounts if one == unit), Decimal(0)), unit)
        for unit in units
    ]
    return " and ".join(as_entered(plain(total), unit) for total, unit in sums)


def _load(record: ApplicationRecord) -> str:
    product = as_entered(record.product_amount, record.product_unit) or "an amount not written down"
    spray = as_entered(record.finished_amount, record.finished_unit)
    return f"{product} in {spray}" if spray else product


def _record(record: ApplicationRecord) -> NoticeRecord:
    areas = record.treated_areas.all()
    label = record.label_version
    return NoticeRecord(
        product=record.product_name or "No product was put down",
        registration_number=record.registration_number
        or ("Exempt from registration" if label else ""),
        signal_word=SIGNAL_WORD_WORDS[SignalWord(label.product.signal_word)] if label else "",
        ingredients=ingredients_words(record),
        amount=as_entered(record.product_amount, record.product_unit),
        finished=as_entered(record.finished_amount, record.finished_unit),
        area=area_words(record.area_mm2, record.branch.units),
        zones=", ".join(area.zone_name for area in areas),
        places=", ".join(dict.fromkeys(PLACE_WORDS[Place(area.place)] for area in areas)),
        method=how_of(record),
        pests=", ".join(record.pests),
        done=personal(record).get("work_done", ""),
        times=times_words(record),
        applicator=_applicator(record),
        reentry=record.reentry_text,
        precautions=label.precautions if label else "",
    )


def ingredients_words(record: ApplicationRecord) -> str:
    """demothrin 7.9 %, as frozen in the record."""
    return ", ".join(f"{one['name']} {one['percent']} %" for one in record.ingredients)


def times_words(record: ApplicationRecord) -> str:
    """10:34 AM to 10:58 AM in the time zone of the branch."""
    zone = ZoneInfo(record.branch.time_zone)
    start, end = (at.astimezone(zone) for at in (record.started_at, record.finished_at))
    return f"{start:%-I:%M %p} to {end:%-I:%M %p}"


def _applicator(record: ApplicationRecord) -> Applicator:
    said = personal(record)
    supervisor = said.get("supervisor_name", "")
    if supervisor and record.supervisor_license_number:
        supervisor = f"{supervisor}, license {record.supervisor_license_number}"
    return Applicator(
        name=said.get("applicator_name", ""),
        license_number=record.license_number,
        license_kind=license_words(record.license_kind),
        supervisor=supervisor,
    )


def license_words(kind: str) -> str:
    """certified applicator; a trainee as such."""
    known = {one.value: words.lower() for one, words in LICENSE_KIND_WORDS.items()}
    return known.get(kind, kind.replace("_", " "))
