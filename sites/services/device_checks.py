"""Keeping what was found at devices: one whole submission, once, and what it is a matter of."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.rules.item_watch import Finding
from accounts.rules.lines import line
from accounts.services.audit import note_event
from accounts.services.item_watch import settle_items
from sites.models import Device, DeviceCheck, DeviceCount, Pest, Property
from sites.rules.devices.entries import (
    LONGEST_NOTE,
    NewCheck,
    digest_of,
    refuse_nonsense,
    refuse_submission,
)
from sites.rules.devices.thresholds import Found, Threshold, over_threshold
from sites.rules.devices.words import Outcome
from sites.selectors.devices import as_rules, last_checks, thing_of, thresholds_of
from sites.services.devices import DAMAGED, ITEM_CODES, MISSING, OVER
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person

Devices = Mapping[int, Device]


@transaction.atomic
def keep_checks(
    *, place: Property, checks: Sequence[NewCheck], by: Person, now: datetime
) -> list[DeviceCheck]:
    """Keep the checks of one submission, all of them or none, in the order they were sent.

    `place` is one the caller has authorized by its stop. A check sent again is answered with the
    first row. What is over a threshold, missing or damaged opens an item; a later check that
    finds it in order closes it. Refused: what cannot be true, a device of another property, one
    that was removed before, a reference that names another check. A fixed number of queries.
    """
    require(by, Permission.WORK_STOPS)
    refuse_submission(checks)
    lock_property(place.pk)
    devices = _devices(place, checks)
    first = _first_answers(checks)
    new = [one for one in checks if one.client_ref not in first]
    local = ZoneInfo(place.branch.time_zone)
    for one in new:
        _refuse(one, devices[one.device_id], local, now)
    names = _pest_names(new)
    kept = first | _stored(new, names, by, now)
    if new:
        _settle(place, devices, now)
        note_event(by=by, act="devices_checked", thing=place, now=now, number=len(new))
    return [kept[one.client_ref] for one in checks]


def _devices(place: Property, checks: Sequence[NewCheck]) -> Devices:
    wanted = {one.device_id for one in checks}
    rows = Device.objects.filter(property=place, pk__in=wanted).select_related("removal")
    found = {row.pk: row for row in rows}
    if len(found) < len(wanted):
        raise Refused("device", "A device of this round is not one of this property.")
    return found


def _first_answers(checks: Sequence[NewCheck]) -> dict[UUID, DeviceCheck]:
    refs = {one.client_ref: digest_of(one) for one in checks}
    rows = DeviceCheck.objects.filter(client_ref__in=refs)
    found = {row.client_ref: row for row in rows}
    if any(row.client_digest != refs[ref] for ref, row in found.items()):
        raise Refused(
            "reused_reference", "This check was sent before with other words. Open it again."
        )
    return found


def _pest_names(checks: Sequence[NewCheck]) -> dict[int, str]:
    wanted = {pest for one in checks for pest, _ in one.counts}
    names = dict(Pest.objects.filter(pk__in=wanted).values_list("pk", "common_name"))
    if len(names) < len(wanted):
        raise Refused("pest", "A counted pest is not known here. Choose one from the list.")
    return names


def _refuse(new: NewCheck, device: Device, local: ZoneInfo, now: datetime) -> None:
    refuse_nonsense(new, kind=device.kind, now=now)
    removal = getattr(device, "removal", None)
    if removal is None:
        return
    seen = new.captured_at or now
    if seen >= removal.at or seen.astimezone(local).date() > removal.removed_on:
        since = short_day(removal.removed_on, True)
        raise Refused("removed", f"{device} was removed on {since} and is not checked any more.")


def _stored(
    checks: Sequence[NewCheck], names: Mapping[int, str], by: Person, now: datetime
) -> dict[UUID, DeviceCheck]:
    rows = DeviceCheck.objects.bulk_create(_check(one, by, now) for one in checks)
    kept = {row.client_ref: row for row in rows}
    DeviceCount.objects.bulk_create(
        DeviceCount(check_of=kept[one.client_ref], pest_id=pest, name=names[pest], number=number)
        for one in checks
        for pest, number in one.counts
    )
    return kept


def _check(new: NewCheck, by: Person, now: datetime) -> DeviceCheck:
    return DeviceCheck(
        client_ref=new.client_ref,
        client_digest=digest_of(new),
        device_id=new.device_id,
        outcome=new.outcome,
        eaten=new.eaten,
        spoiled=new.spoiled,
        removed=new.removed,
        is_damaged=new.is_damaged,
        note=line(new.note, field="note", label="Note", most=LONGEST_NOTE, needed=False),
        visit_ref=new.visit_ref,
        captured_at=new.captured_at or now,
        received_at=now,
        by=by,
        **_added(new),
    )


def _added(new: NewCheck) -> dict[str, str | int]:
    if new.added is None:
        return {}
    added = new.added
    return {
        "added_pieces": added.pieces,
        "added_each": added.each.strip(),
        "added_unit": added.unit,
        "added_ref": line(added.product_ref, field="bait", label="Bait", most=40),
        "added_product": line(added.product, field="bait", label="Bait", most=120),
        "added_lot": line(added.lot, field="lot", label="Lot", most=60, needed=False),
    }


def _settle(place: Property, devices: Devices, now: datetime) -> None:
    """Bring the items of the devices in line with the newest check of each."""
    rules = as_rules(thresholds_of(place.pk))
    newest = last_checks(devices)
    findings = [
        finding
        for pk, check in newest.items()
        for finding in _findings(place, devices[pk], check, rules)
    ]
    # who could not look has found nothing: what was open before stays open
    looked = [pk for pk, check in newest.items() if _says_something(check)]
    settle_items(
        codes=ITEM_CODES, findings=findings, looked_at=[thing_of(pk) for pk in looked], now=now
    )


def _says_something(check: DeviceCheck) -> bool:
    return check.outcome not in (Outcome.NO_ACCESS, Outcome.SKIPPED)


def _findings(
    place: Property, device: Device, check: DeviceCheck, rules: Collection[Threshold]
) -> Iterator[Finding]:
    day = short_day(check.captured_at.astimezone(ZoneInfo(place.branch.time_zone)).date(), True)
    where = f"{device} ({device.place}) at {place}"
    branch, thing = place.branch_id, thing_of(device.pk)
    over = "; ".join(over_threshold(_found(device, check), rules))
    if over:
        yield Finding(OVER, branch, thing, f"{where}: {over}, on {day}.")
    if check.outcome == Outcome.MISSING:
        sentence = f"{where} was missing on {day}. Find or replace it."
        yield Finding(MISSING, branch, thing, sentence)
    if check.is_damaged:
        sentence = f"{where} was damaged on {day}. Mend or replace it."
        yield Finding(DAMAGED, branch, thing, sentence)


def _found(device: Device, check: DeviceCheck) -> Found:
    counts = list(check.counts.all())
    return Found(
        kind=device.kind,
        counts={one.pest_id: one.number for one in counts},
        names={one.pest_id: one.name for one in counts},
        eaten=check.eaten,
    )
