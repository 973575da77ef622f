"""When zones must be renewed, with how few visits, and the days nothing covers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from accounts.rules.day_words import short_day
from scheduling.rules.visit_states import Work
from treatments.rules.uses_ahead import YearUses, is_used_up, uses_words

LEAD_DAYS = 30  # house rule: a renewal opens this many days before the window ends
BOOK_DAYS = 14  # house rule: a renewal not booked so many days before it lapses is told of
MARGIN_DAYS = 7  # house rule: the visit is due this many days before the window ends
RIDE_DAYS = 45  # house rule: at most this much protection is given up to save a visit


@dataclass(frozen=True)
class Interval:
    """The days, both included, on which one zone may and should be renewed."""

    earliest: date
    latest: date

    def __post_init__(self) -> None:
        if self.earliest > self.latest:
            raise ValueError(f"The interval ends {self.latest} before it begins {self.earliest}.")

    def holds(self, day: date) -> bool:
        return self.earliest <= day <= self.latest


@dataclass(frozen=True)
class VisitGroup:
    """One visit day and the positions of the intervals it serves."""

    day: date
    members: tuple[int, ...]


@dataclass(frozen=True)
class WindowFacts:
    """The residual window in force for one zone and pest group.

    `claim_words` says where the claim comes from ("label claim"); `factor_text` says what
    shortened it, empty if nothing did. A season that asks for a treatment before flight names
    `treat_by`, the last day, and `asked_from`, from when it is due; `season_words` say why.
    `uses` are those of its product in the year, where the label limits them.
    The zone is protected on `applied_on <= day < expires_on`; nobody may come back before
    `opens_on`.
    """

    window_id: int
    zone_id: int
    zone_name: str
    property_id: int
    applied_on: date
    opens_on: date
    expires_on: date
    claim_days: int
    claim_words: str = "label claim"
    factor_text: str = ""
    pest_group: str = ""
    treat_by: date | None = None
    asked_from: date | None = None
    season_words: str = ""
    uses: YearUses | None = None

    def is_used_up(self, day: date) -> bool:
        """Whether the label leaves no use of the product for a treatment on a day."""
        return self.uses is not None and is_used_up(self.uses, day)


@dataclass(frozen=True)
class ProposedRenewal:
    """Zones of one property to renew in one visit; `due_on` is the last day of good time."""

    property_id: int
    window_ids: tuple[int, ...]
    zone_ids: tuple[int, ...]
    opens_on: date
    due_on: date
    lapses_on: date
    reason: str
    work: Work = Work.TREAT


def renewal_interval(
    opens_on: date,
    expires_on: date,
    today: date,
    margin_days: int = MARGIN_DAYS,
    treat_by: date | None = None,
) -> Interval:
    """`[max(opens, today), max(opens, expires - margin, today)]`, never empty.

    It ends on `treat_by` where a season asks for an earlier visit.
    """
    earliest, latest = max(opens_on, today), expires_on - timedelta(days=margin_days)
    return Interval(earliest, max(earliest, min(latest, treat_by or latest)))


def interval_of(window: WindowFacts, today: date, margin_days: int = MARGIN_DAYS) -> Interval:
    """The interval of one window, with what the season asks for."""
    return renewal_interval(window.opens_on, window.expires_on, today, margin_days, window.treat_by)


def _is_pressing(window: WindowFacts, today: date, lead: int) -> bool:
    is_asked = window.asked_from is not None and today >= window.asked_from
    return is_asked or days_left(window.expires_on, today) <= lead


def fewest_visits(intervals: Sequence[Interval]) -> tuple[VisitGroup, ...]:
    """The fewest days that touch every interval; greedy by earliest right end, which is optimal.

    `intervals` in any order; the members of a group are positions in it. Source: the classical
    point cover of intervals, from memory; a test compares with every possible choice.
    """
    waiting = sorted(range(len(intervals)), key=lambda spot: (intervals[spot].latest, spot))
    groups = []
    while waiting:
        day = intervals[waiting[0]].latest
        members = {spot for spot in waiting if intervals[spot].holds(day)}
        groups.append(VisitGroup(day, tuple(sorted(members))))
        waiting = [spot for spot in waiting if spot not in members]
    return tuple(groups)


def plan_renewals(
    windows: Iterable[WindowFacts],
    today: date,
    *,
    lead_days: int = LEAD_DAYS,
    margin_days: int = MARGIN_DAYS,
    ride_days: int = RIDE_DAYS,
) -> tuple[ProposedRenewal, ...]:
    """The renewals to open today, one for the zones of a property that one visit can serve.

    `windows` are the windows in force that have no renewal yet. A window opens a renewal when
    `expires_on - today <= lead_days`. Another zone of the property rides along when the day of
    the visit lies in its own interval, it would lapse within `ride_days` after that day and before
    the visit that comes next, and the label leaves it a use. All three numbers are house rules, in
    days.
    """
    ordered = sorted(windows, key=lambda w: (w.property_id, w.expires_on, w.window_id))
    found: list[ProposedRenewal] = []
    for _, rows in groupby(ordered, key=lambda w: w.property_id):
        found += _of_property(list(rows), today, lead_days, margin_days, ride_days)
    return tuple(found)


def _of_property(
    rows: list[WindowFacts], today: date, lead: int, margin: int, ride: int
) -> list[ProposedRenewal]:
    spans = {w.window_id: interval_of(w, today, margin) for w in rows}
    pressing = [w for w in rows if _is_pressing(w, today, lead)]
    others = [w for w in rows if not _is_pressing(w, today, lead)]
    found = []
    for group in fewest_visits([spans[w.window_id] for w in pressing]):
        together = [pressing[spot] for spot in group.members]
        riders = [
            w
            for w in others
            if _rides(w, spans[w.window_id], group.day, min(ride, _until_next(together)))
        ]
        others = [w for w in others if w not in riders]
        chosen = together + riders
        found.append(_proposal(chosen, spans, group.day, today))
    return found


def _until_next(windows: Iterable[WindowFacts]) -> int:
    """Days to the visit that comes after this one: when the first of its zones lapses again."""
    return min((one.expires_on - one.applied_on).days for one in windows)


def _rides(window: WindowFacts, span: Interval, day: date, within: int) -> bool:
    lapses_soon = days_left(window.expires_on, day) <= within
    return span.holds(day) and lapses_soon and not window.is_used_up(day)


def work_on(windows: Iterable[WindowFacts], day: date) -> Work:
    """Treat, or inspect first where no zone of the visit has a use of its product left."""
    return Work.LOOK if all(one.is_used_up(day) for one in windows) else Work.TREAT


def _proposal(
    chosen: list[WindowFacts], spans: dict[int, Interval], day: date, today: date
) -> ProposedRenewal:
    return ProposedRenewal(
        property_id=chosen[0].property_id,
        window_ids=tuple(w.window_id for w in chosen),
        zone_ids=tuple(dict.fromkeys(w.zone_id for w in chosen)),
        opens_on=max(spans[w.window_id].earliest for w in chosen),
        due_on=day,
        lapses_on=min(w.expires_on for w in chosen),
        reason=renewal_reason(chosen, today, day),
        work=work_on(chosen, day),
    )


def renewal_reason(windows: Iterable[WindowFacts], today: date, on: date | None = None) -> str:
    """Why zones are due; those with the same claim and days stand in one phrase.

    "Eave line, Foundation wall: 90 d label claim from May 12, lapses Aug 10". A year is written
    only where it is not the year of `today`. Uses are counted for a treatment on the day `on`.
    """
    names: dict[str, dict[str, None]] = {}
    for window in windows:
        names.setdefault(_claim(window, today, on or today), {})[window.zone_name] = None
    return "; ".join(f"{', '.join(zones)}: {claim}" for claim, zones in names.items())


def window_reason(window: WindowFacts, today: date) -> str:
    """Why one zone is due, in words."""
    return renewal_reason([window], today)


def _claim(window: WindowFacts, today: date, on: date) -> str:
    held = (window.expires_on - window.applied_on).days
    short = f", {held} d after {window.factor_text}" if window.factor_text else ""
    verb = "lapsed" if window.expires_on <= today else "lapses"
    text = (
        f"{window.claim_days} d {window.claim_words}{short} "
        f"from {_day(window.applied_on, today)}, "
        f"{verb} {_day(window.expires_on, today)}"
    )
    if window.opens_on > max(window.expires_on, today):
        opens = _day(window.opens_on, today)
        text += f", stays lapsed until {opens}: the label forbids coming earlier"
    uses = uses_words(window.uses, on) if window.uses else ""
    return ", ".join(part for part in (text, window.season_words, uses) if part)


def _day(day: date, today: date) -> str:
    """A day as "Aug 10", with the year only when it is not the year of `today`."""
    return short_day(day, with_year=day.year != today.year)


def days_left(expires_on: date, today: date) -> int:
    """Days of protection that remain; zero or less means it has lapsed."""
    return (expires_on - today).days


def bare_spans(
    windows: Iterable[tuple[date, date]], start: date, end: date
) -> tuple[tuple[date, date], ...]:
    """The stretches of `start <= day < end` under no window, each with its end excluded.

    `windows` are (applied_on, expires_on) pairs in any order, overlapping or not.
    """
    spans, edge = [], start
    for applied_on, expires_on in sorted(windows):
        if applied_on > edge and edge < end:
            spans.append((edge, min(applied_on, end)))
        edge = max(edge, expires_on)
    if edge < end:
        spans.append((edge, end))
    return tuple(spans)


def bare_days(windows: Iterable[tuple[date, date]], start: date, end: date) -> int:
    """How many days of `start <= day < end` no window covers.

    A 60-day window on a 91-day cycle covers 60 of 91 and leaves 31.
    """
    return sum((last - first).days for first, last in bare_spans(windows, start, end))
