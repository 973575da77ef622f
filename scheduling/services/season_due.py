"""What a season or the uses left do to the due list: earlier before flight, inspect, look first."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

from scheduling.models import Renewal, RenewalZone
from scheduling.models.renewals import WAITING_STATES
from scheduling.rules.renewals import LEAD_DAYS, WindowFacts, work_on
from scheduling.rules.season import asked_from, treat_before
from scheduling.rules.visit_states import RenewalState, Work
from scheduling.selectors.season_book import SeasonBook
from scheduling.selectors.uses_ahead import uses_ahead
from scheduling.services.reconcile import date_anew, facts_of
from sites.rules.places import PestGroup
from treatments.rules.uses_ahead import YearUses

OF_INVADERS = {"window__pest_group": PestGroup.OVERWINTERING}


def properties_to_look_at() -> set[int]:
    """Properties with a waiting renewal that a season, or a new year with its uses, may move."""
    lines = RenewalZone.objects.filter(renewal__state__in=WAITING_STATES, **OF_INVADERS)
    found = set(lines.values_list("renewal__property_id", flat=True))
    looks = Renewal.objects.filter(state__in=WAITING_STATES, work=Work.LOOK).order_by()
    return found | set(looks.values_list("property_id", flat=True))


def keep_work(property_ids: Collection[int], book: SeasonBook) -> int:
    """Date the waiting renewals of these properties by season and uses left; how many changed.

    One whose windows are all of autumn invaders becomes an inspection while treating is
    withdrawn, and a treatment again after; one whose products have no use left in the year is
    looked at first, and treated again from January on. A booked one is left to the office. Runs in
    the transaction of a batch; again it changes nothing.
    """
    waiting = Renewal.objects.filter(property__in=property_ids, state__in=WAITING_STATES)
    lines = RenewalZone.objects.filter(renewal__in=waiting).order_by("pk")
    lines = lines.select_related("renewal__property", "window", "zone")
    found: dict[int, list[RenewalZone]] = {}
    for line in lines.prefetch_related("window__overrides"):
        found.setdefault(line.renewal_id, []).append(line)
    moved = [some for some in found.values() if _may_move(some)]
    uses = uses_ahead((line.window for some in moved for line in some), book.today)
    return sum(_kept(some, uses, book) for some in moved)


def _may_move(lines: Sequence[RenewalZone]) -> bool:
    is_seasonal = any(line.window.pest_group == PestGroup.OVERWINTERING for line in lines)
    return is_seasonal or lines[0].renewal.work == Work.LOOK


def _kept(lines: Sequence[RenewalZone], uses: Mapping[int, YearUses], book: SeasonBook) -> bool:
    renewal = lines[0].renewal
    facts = [_facts(line, uses, book) for line in lines]
    # an old due day stands for the first day of this year: its uses are counted anew
    on = max(renewal.due_on, date(book.today.year, 1, 1))
    is_late = all(_is_late(one, book) for one in facts)
    work = Work.INSPECT if is_late else work_on(facts, on)
    # the passing of days alone moves nothing: only what a season says that was not said yet
    if work == renewal.work and all(one.season_words in renewal.reason for one in facts):
        return False
    renewal.work = work
    renewal.save(update_fields=["work"])
    date_anew(renewal, facts, book.today)
    return True


def _is_late(facts: WindowFacts, book: SeasonBook) -> bool:
    return facts.treat_by is None and book.is_withdrawn_for(facts)


def _facts(line: RenewalZone, uses: Mapping[int, YearUses], book: SeasonBook) -> WindowFacts:
    facts = facts_of(line.window, line, uses.get(line.window_id))
    return book.with_season(facts, line.renewal.property)


def free_inspected(book: SeasonBook) -> None:
    """Zones that were only inspected come on the due list again before the next flight."""
    rows = RenewalZone.objects.filter(
        renewal__state=RenewalState.DONE, renewal__work=Work.INSPECT, **OF_INVADERS
    ).select_related("renewal__property", "window")
    again = [
        line.pk for line in rows.prefetch_related("window__overrides") if _is_asked(line, book)
    ]
    # those that had no use of their product left have uses again in the next year
    looked = RenewalZone.objects.filter(
        renewal__state=RenewalState.DONE,
        renewal__work=Work.LOOK,
        renewal__due_on__lt=date(book.today.year, 1, 1),
    )
    again += looked.values_list("pk", flat=True)
    RenewalZone.objects.filter(pk__in=again).delete()


def _is_asked(line: RenewalZone, book: SeasonBook) -> bool:
    season = book.season_at(line.renewal.property)
    if season is None or treat_before(line.window.lapses_on, book.today, season) is None:
        return False
    return book.today >= asked_from(season, LEAD_DAYS)


def last_lapse_in_season(book: SeasonBook) -> date:
    """Up to which lapse a season may ask for a treatment now; the day before today outside it."""
    starts_on, ends_on = book.numbers.season(book.today.year)
    begins = starts_on - timedelta(days=90)
    return ends_on if begins <= book.today <= ends_on else book.today - timedelta(days=1)
