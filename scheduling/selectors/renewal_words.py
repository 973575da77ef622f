"""One renewal as a row of the list: days left, its zones with their lines, why, and what next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from accounts.rules.phones import readable
from scheduling.rules.day_words import clock, full_day, hours, left, left_short, local, week_day
from scheduling.rules.renewals import days_left
from scheduling.rules.visit_states import RenewalState, Work
from scheduling.selectors.visit_words import VisitWords, visit_words
from sites.rules.units import display
from sites.selectors.properties import zone_measure
from treatments.reports.residual_line import ZoneLine, line_scale, residual_line
from treatments.selectors.windows import line_of

if TYPE_CHECKING:
    from accounts.models import Contact, ContactEntry
    from scheduling.models import Renewal, RenewalZone
    from sites.models import TreatableZone
    from treatments.models import ResidualWindow

BACK, AHEAD, WIDTH = timedelta(days=78), timedelta(days=46), 252
STATE_SHAPES = {
    RenewalState.DUE: "open",
    RenewalState.OFFERED: "open",
    RenewalState.BOOKED: "book",
    RenewalState.DONE: "ok",
    RenewalState.DECLINED: "open",
    RenewalState.WITHDRAWN: "open",
}
WORK_WHY = {
    Work.LOOK: "no use of the product is left: vacuum, seal, bait or another product",
    Work.INSPECT: "the treatment is withdrawn",
}
RECORD = "record "
Windows = Mapping[int, Sequence["ResidualWindow"]]


@dataclass(frozen=True)
class ZoneRow:
    """One zone of a renewal: its size, its residual line, what is left, and where that is from."""

    name: str
    size: str
    line: SafeString
    left: str
    source: str


@dataclass(frozen=True)
class OfferWords:
    """The best place as the job found it last, and the fields that booking it needs."""

    on: str
    window: str
    technician: str
    added: int
    found: str
    fields: dict[str, Any]


@dataclass(frozen=True)
class RenewalRow:
    """A renewal as the office reads it."""

    pk: int
    days: int
    left: str
    lapses_on: str
    due_on: str
    property_id: int
    street: str
    town: str
    customer_id: int
    customer: str
    kind: str
    branch: str
    phone: Contact | None
    zones: Sequence[ZoneRow]
    reason: str
    state_code: str
    state: str
    shape: str
    visit: VisitWords | None
    note: str
    work: str
    work_shape: str
    work_why: str
    last_contact: str
    offer: OfferWords | None = None

    @property
    def is_lapsed(self) -> bool:
        return self.days <= 0

    @property
    def reasons(self) -> list[str]:
        """The reason of each zone by itself."""
        return self.reason.split("; ")

    @property
    def phone_words(self) -> str:
        return readable(self.phone.phone) if self.phone else ""

    @property
    def late(self) -> int:
        """Days since the lapse."""
        return -self.days

    @property
    def is_waiting(self) -> bool:
        return self.state_code in (RenewalState.DUE, RenewalState.OFFERED)

    @property
    def is_declined(self) -> bool:
        return self.state_code == RenewalState.DECLINED

    @property
    def sources(self) -> str:
        return joined_sources([zone.source for zone in self.zones])


def joined_sources(sources: Sequence[str]) -> str:
    """Each source once, records by their numbers: "records 45, 46; the firm's spreadsheet"."""
    numbers = [one.removeprefix(RECORD) for one in sources if one.startswith(RECORD)]
    keys = ", ".join(dict.fromkeys(numbers))
    word = "records " if "," in keys else RECORD
    others = [one for one in sources if not one.startswith(RECORD)]
    return "; ".join(dict.fromkeys([word + keys, *others] if keys else others))


def contact_words(last: ContactEntry, time_zone: str) -> str:
    """The last contact with a customer, as a due row shows it."""
    on = full_day(local(last.created_at, time_zone).date())
    words = f"{last.get_outcome_display().lower()} {on}"
    return f"{words}: {last.said}" if last.said else words


def renewal_row(
    renewal: Renewal, windows: Windows, today: date, last: ContactEntry | None = None
) -> RenewalRow:
    """Put a renewal in words; its zones, property, contacts and open visits are fetched."""
    place, days = renewal.property, days_left(renewal.lapses_on, today)
    visit = next(iter(renewal.open_visits), None)  # type: ignore[attr-defined]
    return RenewalRow(
        pk=renewal.pk,
        days=days,
        left=left(days),
        lapses_on=full_day(renewal.lapses_on),
        due_on=full_day(renewal.due_on),
        property_id=place.pk,
        street=place.street,
        town=place.city,
        customer_id=place.customer_id,
        customer=place.customer.name,
        kind=place.customer.get_kind_display(),
        branch=place.branch.name,
        phone=next((c for c in place.customer.contacts.all() if c.phone), None),
        zones=_zones(renewal, windows, visit.day if visit else None, today),
        reason=renewal.reason,
        state_code=renewal.state,
        state=renewal.get_state_display(),
        shape=STATE_SHAPES[RenewalState(renewal.state)],
        visit=visit_words(visit, place.branch.time_zone) if visit else None,
        note=renewal.closing_note,
        work=renewal.get_work_display(),
        work_shape="open" if renewal.work == Work.TREAT else "check",
        work_why=WORK_WHY.get(Work(renewal.work), ""),
        last_contact=contact_words(last, place.branch.time_zone) if last else "not talked to yet",
        offer=_offer(renewal, place.branch.time_zone, today),
    )


def _offer(renewal: Renewal, time_zone: str, today: date) -> OfferWords | None:
    """The offer that the job made; none where it made none or its day is over."""
    one = getattr(renewal, "offer", None)
    if one is None or one.day < today:
        return None
    made = local(one.made_at, time_zone)
    return OfferWords(
        on=week_day(one.day),
        window=hours(one.window_opens, one.window_closes),
        technician=one.technician.full_name,
        added=one.added_minutes,
        found=f"{full_day(made.date())}, {clock(made)}",
        fields={
            "technician": one.technician_id,
            "day": one.day.isoformat(),
            "window_opens": f"{one.window_opens:%H:%M}",
            "window_closes": f"{one.window_closes:%H:%M}",
            "minutes": one.minutes,
        },
    )


def scale_for(today: date) -> SafeString:
    """The scale over the compact lines of a list."""
    return mark_safe(line_scale(today=today, start=today - BACK, end=today + AHEAD, width=WIDTH))


def zone_line(zone: TreatableZone, windows: Sequence[ResidualWindow]) -> ZoneLine:
    """A zone and its windows as the drawing takes them, one line a window."""
    return line_of(zone.name, windows, zone_size(zone))


def zone_size(zone: TreatableZone) -> str:
    """A zone's size in its own unit, without decimals where it is whole."""
    size = zone_measure(zone).size
    whole = size.value == size.value.to_integral_value()
    return display(size, 0 if whole else 2)


def _zones(renewal: Renewal, windows: Windows, visit_on: date | None, today: date) -> list[ZoneRow]:
    first: dict[int, RenewalZone] = {}
    for line in sorted(renewal.zones.all(), key=lambda line: line.window.lapses_on):
        first.setdefault(line.zone_id, line)
    return [_zone_row(line, windows, visit_on, today) for line in first.values()]


def _zone_row(line: RenewalZone, windows: Windows, visit_on: date | None, today: date) -> ZoneRow:
    drawing = residual_line(
        [zone_line(line.zone, windows.get(line.zone_id, ()))],
        today=today,
        start=today - BACK,
        end=today + AHEAD,
        width=WIDTH,
        visits=(visit_on,) if visit_on else (),
        form="compact",
        uid=f"r{line.renewal_id}-{line.zone_id}",
    )
    return ZoneRow(
        name=line.zone.name,
        size=zone_size(line.zone),
        line=mark_safe(drawing),
        left=left_short(days_left(line.window.lapses_on, today)),
        source=window_source(line.window),
    )


def window_source(window: ResidualWindow) -> str:
    """Where a window comes from: a record by its number, or the firm's spreadsheet."""
    if window.treated_area:
        return f"{RECORD}{window.treated_area.record_id}"
    return "the firm's spreadsheet"
