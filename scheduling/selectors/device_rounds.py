"""A round of devices at a stop: where it stands, the device one is at, the bait to record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from scheduling.models import BaitRecord, Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.bait_groups import BaitGroup, BaitLine, bait_groups
from scheduling.selectors.today import own_visit
from sites.rules.devices.numbers import number_of
from sites.rules.devices.rounds import Standing, standing
from sites.selectors.devices import (
    DeviceRow,
    bait_added_at,
    check_words,
    checks_of_visit,
    device_rows,
    last_bait_of,
)
from sites.selectors.pests import pests
from treatments.selectors.baits import BaitChoice, baits_to_place

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import DeviceCheck

Rows = list[tuple[str, str]]


@dataclass(frozen=True)
class RoundRow:
    """One device of the round and what was found at it now; empty where it is still open."""

    device: DeviceRow
    found: str

    @property
    def is_open(self) -> bool:
        return not self.found


@dataclass(frozen=True)
class RoundPage:
    """The round of a stop; `device` is the one to look at now, None at the end of the row."""

    visit_pk: int
    visit_ref: str
    customer: str
    address: str
    is_open: bool
    standing: Standing
    rows: tuple[RoundRow, ...]
    device: DeviceRow | None
    found: str
    unknown: str
    baits: tuple[BaitGroup, ...]

    @property
    def left(self) -> tuple[RoundRow, ...]:
        """The devices that have no answer yet."""
        return tuple(row for row in self.rows if row.is_open)


@dataclass(frozen=True)
class StopDevices:
    """The devices of a stop in a few words: how many, how far the round is, what is open."""

    total: int = 0
    answered: int = 0
    next_number: int | None = None
    matters: tuple[str, ...] = ()
    waits_for_record: bool = False

    @property
    def is_begun(self) -> bool:
        return self.answered > 0


def round_page(person: Person, pk: int, *, after: int | None = None, typed: str = "") -> RoundPage:
    """The round of a stop of the person's own, else Http404; a fixed number of queries.

    `after` is the device one comes from; `typed` a number or the code of a label to go to.
    """
    visit = own_visit(person, pk)
    found = checks_of_visit(str(visit.ref))
    rows = device_rows(visit.property)
    stands = standing([row.pk for row in rows], found, after)
    number = number_of(typed, visit.property_id) if typed else None
    asked = next((row for row in rows if number is not None and row.number == number), None)
    device = asked or next((row for row in rows if row.pk == stands.next_id), None)
    return RoundPage(
        visit_pk=visit.pk,
        visit_ref=str(visit.ref),
        customer=visit.property.customer.name,
        address=str(visit.property),
        is_open=visit.state in OPEN_STATES,
        standing=stands,
        rows=tuple(RoundRow(row, _words(found.get(row.pk))) for row in rows),
        device=device,
        found=_words(found.get(device.pk)) if device else "",
        unknown=typed if typed and asked is None else "",
        baits=unrecorded(visit),
    )


def _words(check: DeviceCheck | None) -> str:
    return check_words(check) if check else ""


def unrecorded(visit: Visit) -> tuple[BaitGroup, ...]:
    """Bait that was added at a visit and stands in no record yet, by label, lot and unit."""
    checks = bait_added_at(str(visit.ref))
    kept = set(recorded_checks([check.pk for check in checks]))
    return bait_groups([bait_line(check) for check in checks if check.pk not in kept])


def recorded_checks(check_ids: Sequence[int]) -> Mapping[int, int]:
    """The checks whose bait stands in a record, with that record."""
    rows = BaitRecord.objects.filter(check_of__in=check_ids)
    return dict(rows.values_list("check_of", "record"))


def bait_line(check: DeviceCheck) -> BaitLine:
    """What one check says of the bait it added."""
    return BaitLine(
        check_id=check.pk,
        device=check.device.number,
        zone_id=check.device.zone_id,
        ref=check.added_ref,
        product=check.added_product,
        lot=check.added_lot,
        pieces=check.added_pieces,
        each=check.added_each,
        unit=check.added_unit,
    )


def stop_devices(visit: Visit) -> StopDevices:
    """What the page of a stop says of its devices; a fixed number of queries."""
    rows = device_rows(visit.property)
    if not rows:
        return StopDevices()
    found = checks_of_visit(str(visit.ref))
    stands = standing([row.pk for row in rows], found, None)
    return StopDevices(
        total=stands.total,
        answered=stands.answered,
        next_number=next((row.number for row in rows if row.pk == stands.next_id), None),
        matters=tuple(words for row in rows for words in row.matters),
        waits_for_record=any(found_one.added_pieces for found_one in found.values())
        and bool(unrecorded(visit)),
    )


def bait_choices(person: Person, today: date) -> tuple[BaitChoice, ...]:
    """The baits to choose from at a device."""
    return baits_to_place(person.pk, today)


def last_bait(person: Person, choices: Sequence[BaitChoice]) -> dict[str, str]:
    """What the form of a check begins with: the bait this person added last, if it is offered."""
    last = last_bait_of(person.pk)
    key = BaitChoice(last.product_ref, last.product, last.lot).key if last else ""
    if last is None or key not in [one.key for one in choices]:
        return {}
    return {"bait": key, "each": last.each, "unit": last.unit}


def pest_choices() -> Rows:
    """Every pest to count."""
    return [(str(pest.pk), pest.common_name) for pest in pests()]
