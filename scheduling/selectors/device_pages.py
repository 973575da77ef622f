"""The office's pages of a property's devices: the list, the trend, the labels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from accounts.rules.phones import readable
from accounts.selectors.pages import local_day
from sites.rules.devices.numbers import DeviceLabel, device_code, property_code
from sites.rules.devices.trends import Tally, by_device, by_month, by_pest, by_round
from sites.selectors.device_trends import seen_at
from sites.selectors.devices import (
    DeviceRow,
    device_rows,
    devices_of,
    every_device_of,
    house_rules,
    limit_words,
    thresholds_of,
)
from sites.selectors.properties import property_for
from treatments.reports.bar_chart import Bar, bar_chart

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Device, DeviceThreshold, Property

LOOK_BACK = timedelta(days=730)  # house rule: two years of checks stand in a trend
WIDE, NARROW = 900, 340
SHOWN_BARS = 12


@dataclass(frozen=True)
class DevicesPage:
    """The devices of a property, in place and removed, and from when they are over."""

    place: Property
    rows: tuple[DeviceRow, ...]
    removed: tuple[DeviceRow, ...]
    thresholds: Sequence[tuple[DeviceThreshold, str]]
    house_rules: tuple[tuple[str, str], ...]

    @property
    def matters(self) -> tuple[str, ...]:
        return tuple(words for row in self.rows for words in row.matters)


@dataclass(frozen=True)
class Drawn:
    """One drawing in the two widths."""

    title: str
    wide: SafeString
    narrow: SafeString


@dataclass(frozen=True)
class TrendPage:
    """What the checks of two years add up to."""

    place: Property
    first: date
    rounds: tuple[Tally, ...]
    months: tuple[Tally, ...]
    devices: tuple[Tally, ...]
    pests: tuple[tuple[str, int, int], ...]
    drawn: tuple[Drawn, ...]


def devices_page(person: Person, pk: int) -> DevicesPage:
    """The devices of a property the person may see; a fixed number of queries."""
    place = property_for(person, pk)
    every = device_rows(place, with_removed=True)
    here = tuple(sorted((row for row in every if not row.is_removed), key=_turn))
    set_here = list(thresholds_of(place.pk))
    every_pest = {row.kind for row in set_here if row.pest_id is None}
    return DevicesPage(
        place=place,
        rows=here,
        removed=tuple(row for row in every if row.is_removed),
        thresholds=[(row, limit_words(row)) for row in set_here],
        house_rules=house_rules({row.kind for row in here} - every_pest),
    )


def _turn(row: DeviceRow) -> tuple[int, int]:
    return row.turn, row.number


def device_choices(property_id: int) -> list[tuple[int, str]]:
    """Every device a trend may be of."""
    return [(one.pk, f"{one}, {one.place}") for one in every_device_of(property_id)]


def trend_page(place: Property, chosen: dict[str, Any], now: datetime) -> TrendPage:
    """The trend of a property that the caller may see, of one device or pest where chosen."""
    first = local_day(place.branch.time_zone, now) - LOOK_BACK
    seen = seen_at(place, first, device_id=chosen.get("device"), pest_id=chosen.get("pest"))
    rounds, months = by_round(seen), by_month(seen)
    return TrendPage(
        place=place,
        first=first,
        rounds=rounds,
        months=months,
        devices=by_device(seen),
        pests=by_pest(seen),
        drawn=(
            _drawn("Active devices by round, of those looked at", rounds, "round"),
            _drawn("Active devices by month, of those looked at", months, "month"),
        ),
    )


def _drawn(title: str, rows: Sequence[Tally], uid: str) -> Drawn:
    bars = [Bar(row.words, row.share, row.share_words) for row in rows[-SHOWN_BARS:]]
    # the drawing escapes every text it is given
    wide, narrow = (
        mark_safe(bar_chart(title, bars, width=width, uid=f"{uid}-{width}"))
        for width in (WIDE, NARROW)
    )
    return Drawn(title, wide, narrow)


def labels_of(place: Property) -> list[DeviceLabel]:
    """A label for every device in place, by number."""
    branch = place.branch
    phone = readable(branch.phone) if branch.phone else ""
    return [
        DeviceLabel(
            number=one.number,
            kind=one.get_kind_display(),
            property_code=property_code(place.pk),
            code=device_code(place.pk, one.number),
            firm=branch.name,
            phone=phone,
        )
        for one in sorted(devices_of(place.pk), key=_number)
    ]


def _number(device: Device) -> int:
    return device.number
