"""Opening renewals from residual windows, and closing those whose reason is gone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from accounts.permissions import Permission, require
from accounts.selectors.people import branches_for
from accounts.services.audit import note_event
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.models.renewals import OPEN_STATES, WAITING_STATES
from scheduling.rules.day_words import count, local
from scheduling.rules.renewals import LEAD_DAYS, WindowFacts
from scheduling.rules.visit_states import RenewalState
from scheduling.selectors.season_book import SeasonBook, season_book
from scheduling.selectors.uses_ahead import uses_ahead
from scheduling.services.agreement_watch import watch_agreements
from scheduling.services.escalating import watch_unbooked
from scheduling.services.keepers import keep_all_keepers
from scheduling.services.opening import open_renewals
from scheduling.services.rain import watch_rain
from scheduling.services.reconcile import WORKED_FOR, Outcome, facts_of, reconcile, standing_of
from scheduling.services.season_due import (
    free_inspected,
    keep_work,
    last_lapse_in_season,
    properties_to_look_at,
)
from scheduling.services.visit_notices import keep_visit_notices
from sites.rules.places import PestGroup
from sites.services.reviews import watch_reviews
from sites.services.task_asks import chase_tasks
from treatments.selectors.windows import in_portions, lapsing
from treatments.services.auditing import audit_once_a_day
from treatments.services.incidents import flag_late_notices
from treatments.services.purging import look_for_early_purges
from treatments.services.recalls import keep_recalls

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ZoneProtection

PROPERTIES_A_BATCH = 200  # one transaction; short, since SQLite has one writer at a time


@dataclass(frozen=True)
class SweepReport:
    """What one sweep did: renewals opened, zones in them, zones joined to waiting renewals."""

    today: date
    opened: int
    zones: int
    joined: int
    closed: int
    returned: int
    redated: int
    withdrawn: int
    by_season: int = 0

    @property
    def is_quiet(self) -> bool:
        """Whether nothing changed."""
        return not (self.opened or self.joined or any(number for number, _ in self._others()))

    @property
    def sentence(self) -> str:
        """What was done, in words."""
        if self.is_quiet:
            return f"Sweep for {self.today}: nothing to do."
        parts = [f"opened {count(self.opened, 'renewal')} for {count(self.zones, 'zone')}"]
        if self.joined:
            parts.append(f"joined {count(self.joined, 'zone')} to waiting renewals")
        parts += [f"{count(many, 'renewal')} {word}" for many, word in self._others() if many]
        return f"Sweep for {self.today}: {', '.join(parts)}."

    def _others(self) -> tuple[tuple[int, str], ...]:
        return (
            (self.closed, "closed"),
            (self.returned, "given back to due"),
            (self.redated, "dated anew"),
            (self.withdrawn, "withdrawn"),
            (self.by_season, "moved by the season"),
        )


def sweep(
    *, today: date, now: datetime, by: Person | None = None, lead_days: int = LEAD_DAYS
) -> SweepReport:
    """Open what lapses within `lead_days` and bring every open renewal in line with its windows.

    Property by property, one transaction a batch. Run again, or twice at once, it opens nothing a
    second time: a window opens at most one renewal, and a conflict undoes that property only.
    """
    require(by, Permission.BOOK_VISITS)
    tally: Counter[str] = Counter()
    book = season_book(today)
    free_inspected(book)
    for portion in in_portions(_properties(book, lead_days), PROPERTIES_A_BATCH):
        tally += _batch(portion, book, now, by, lead_days)
    return SweepReport(
        today=today,
        opened=tally["opened"],
        zones=tally["zones"],
        joined=tally["joined"],
        closed=tally[Outcome.DONE],
        returned=tally[Outcome.RETURNED],
        redated=tally[Outcome.REDATED],
        withdrawn=tally[Outcome.WITHDRAWN],
        by_season=tally["by_season"],
    )


def _counting(before: date) -> QuerySet[ZoneProtection]:
    """Protections that count and lapse before a day, of customers we still work for."""
    return lapsing(before=before).filter(zone__property__customer__status=WORKED_FOR)


def _unclaimed(before: date) -> QuerySet[ZoneProtection]:
    """Those of them that have opened no renewal."""
    return _counting(before).exclude(window__in=RenewalZone.objects.values("window"))


def _properties(book: SeasonBook, lead_days: int) -> list[int]:
    lapse = _unclaimed(book.today + timedelta(days=lead_days + 1))
    before_flight = _unclaimed(last_lapse_in_season(book) + timedelta(days=1))
    before_flight = before_flight.filter(pest_group=PestGroup.OVERWINTERING)
    found = properties_to_look_at()
    for lapsing_now in (lapse, before_flight):
        ids = lapsing_now.order_by().values_list("zone__property_id", flat=True)
        found |= set(ids.distinct())
    for rows in _unlike_their_windows():
        found |= set(rows.values_list("property_id", flat=True).order_by())
    return sorted(found)


def _unlike_their_windows() -> tuple[QuerySet[Renewal], ...]:
    """Open renewals with a window out of force, without a window, or booked without a visit."""
    in_force = _counting(date.max).order_by().values("window")
    stale = RenewalZone.objects.filter(renewal__state__in=OPEN_STATES)
    stale = stale.exclude(window__in=in_force)
    unvisited = Renewal.objects.filter(state=RenewalState.BOOKED)
    return (
        Renewal.objects.filter(pk__in=stale.values("renewal")),
        Renewal.objects.open().filter(zones__isnull=True),
        unvisited.exclude(pk__in=Visit.objects.open().exclude(renewal=None).values("renewal")),
    )


@transaction.atomic
def _batch(
    property_ids: list[int], book: SeasonBook, now: datetime, by: Person | None, lead_days: int
) -> Counter[str]:
    """Take the open renewals first, then read: who waited here reads what the other one wrote."""
    locked = Renewal.objects.select_for_update(of=("self",)).select_related("property")
    rows = locked.filter(property__in=property_ids, state__in=OPEN_STATES).order_by("pk")
    renewals = list(rows)
    tally = _reconcile_all(renewals, book.today, now, by)
    waiting = {r.property_id: r for r in renewals if r.state in WAITING_STATES}
    tally += open_renewals(_gathered(property_ids, book), waiting, book.today, lead_days)
    tally += Counter(by_season=keep_work(property_ids, book))
    if tally:
        note_event(by=by, act="sweep", thing="renewals", now=now, **dict(tally))
    return tally


def _reconcile_all(
    renewals: Sequence[Renewal], today: date, now: datetime, by: Person | None
) -> Counter[str]:
    standing = standing_of(renewals, today)
    tally: Counter[str] = Counter()
    for renewal in renewals:
        try:
            with transaction.atomic():
                tally[reconcile(renewal, standing, today=today, now=now, by=by)] += 1
        except IntegrityError:
            continue  # another sweep took a window of this property; the next run sees its work
    del tally[Outcome.UNCHANGED]
    return tally


def _gathered(property_ids: list[int], book: SeasonBook) -> list[WindowFacts]:
    """Every window in force of these properties that has no renewal yet, also late ones."""
    rows = _unclaimed(date.max).filter(zone__property__in=property_ids).select_related("zone")
    rows = rows.select_related("window__zone")
    found = list(rows)
    uses = uses_ahead((row.window for row in found), book.today)
    return [
        book.with_season(facts_of(row.window, uses=uses.get(row.window_id)), row.zone.property)
        for row in found
    ]


def sweep_property(*, property_id: int, today: date, now: datetime, by: Person | None) -> None:
    """Bring the renewals of one property in line with its windows, in the caller's transaction."""
    _batch([property_id], season_book(today), now, by, LEAD_DAYS)


def sweep_now(*, now: datetime) -> SweepReport:
    """Sweep for the calendar day on which the firm's last shop is, the earliest where they differ.

    A day too early opens nothing wrong: the next run adds what lapses a day later. The clocks of
    incidents, what was purged, reviews of logbooks and tasks of customers are looked at too; the
    first run of a day audits the records.
    """
    flag_late_notices(now=now)
    look_for_early_purges(now=now)
    keep_recalls(now=now)
    keep_all_keepers(now=now)
    today = firm_day(now)
    audit_once_a_day(today=today, now=now)
    watch_reviews(today=today, now=now)
    chase_tasks(today=today, now=now)
    watch_rain(today=today)
    watch_agreements(today=today, now=now)
    report = sweep(today=today, now=now)
    watch_unbooked(today=today, now=now)
    keep_visit_notices(now=now)
    return report


def firm_day(now: datetime) -> date:
    """The calendar day of the firm: the earliest where its shops differ."""
    days = [local(now, branch.time_zone).date() for branch in branches_for(None)]
    return min(days, default=now.date())
