"""Keeping an open renewal equal to the windows it stands for (DEVELOPERS.md, Decisions)."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from accounts.services.audit import open_item
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import full_day
from scheduling.rules.renewals import WindowFacts, interval_of, renewal_reason, work_on
from scheduling.rules.visit_states import RenewalState, VisitState, Work
from scheduling.selectors.uses_ahead import uses_ahead
from treatments.rules.uses_ahead import YearUses
from treatments.selectors.windows import effective_windows, in_portions, protection_of

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ResidualWindow, ZoneProtection

WORKED_FOR = "active"
UNDER_WAY = (VisitState.STARTED, VisitState.FINISHING)


class Outcome(StrEnum):
    """What became of a renewal."""

    UNCHANGED = "unchanged"
    RETURNED = "returned"
    REDATED = "redated"
    DONE = "done"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Standing:
    """What stands behind some renewals: their zones, windows in force, later records, visits."""

    lines: Mapping[int, Sequence[RenewalZone]]
    in_force: Mapping[int, Sequence[ZoneProtection]]
    recorded: Mapping[int, Sequence[tuple[date, int]]]
    effective: Collection[int]
    visits: Mapping[int, Visit]
    uses: Mapping[int, YearUses]

    def stands(self, line: RenewalZone) -> bool:
        """Whether the window of a line still counts for its zone."""
        protections = self.in_force.get(line.zone_id, ())
        return any(one.window_id == line.window_id for one in protections)

    def is_followed(self, line: RenewalZone) -> bool:
        """Whether a record opened a later window on the zone, of whichever pest group.

        On one day only when the first window still has effect: a corrected record follows nothing.
        """
        window = line.window
        for applied_on, pk in self.recorded.get(line.zone_id, ()):
            if applied_on > window.applied_on:
                return True
            if applied_on == window.applied_on and pk > window.pk in self.effective:
                return True
        return False


def standing_of(renewals: Collection[Renewal], today: date) -> Standing:
    """Gather what stands behind these renewals, in a fixed number of queries for each 500 zones."""
    rows = RenewalZone.objects.filter(renewal__in=[one.pk for one in renewals])
    lines: dict[int, list[RenewalZone]] = {}
    fetched = rows.select_related("window", "zone__property__customer")
    fetched = fetched.prefetch_related("window__overrides")
    for line in fetched.order_by("renewal_id", "pk"):
        lines.setdefault(line.renewal_id, []).append(line)
    every = [line for found in lines.values() for line in found]
    in_force = _in_force(line.zone_id for line in every if _is_treated(line))
    standing = {one.window_id for rows in in_force.values() for one in rows}
    lost = {line.zone_id for line in every if line.window_id not in standing}
    recorded, effective = _recorded(lost)
    visits = Visit.objects.filter(renewal__in=list(lines), state__in=OPEN_STATES)
    by_renewal = {v.renewal_id or 0: v for v in visits}
    uses = uses_ahead((one.window for one in every), today, but=list(lines))
    return Standing(lines, in_force, recorded, effective, by_renewal, uses)


def _is_treated(line: RenewalZone) -> bool:
    """Whether the zone is in use and its customer's account is open."""
    zone = line.zone
    return zone.retired_on is None and zone.property.customer.status == WORKED_FOR


def _in_force(zone_ids: Iterable[int]) -> dict[int, list[ZoneProtection]]:
    found: dict[int, list[ZoneProtection]] = {}
    for portion in in_portions(sorted(set(zone_ids))):
        for zone_id, rows in protection_of(portion).items():
            found[zone_id] = [row for row in rows if row.counts]
    return found


def _recorded(zone_ids: Iterable[int]) -> tuple[dict[int, list[tuple[date, int]]], set[int]]:
    """Windows that records opened on these zones, and the keys of all that have effect."""
    recorded: dict[int, list[tuple[date, int]]] = {}
    effective: set[int] = set()
    for portion in in_portions(sorted(zone_ids)):
        rows = effective_windows(portion).values_list("pk", "zone_id", "applied_on", "historic_id")
        for pk, zone_id, applied_on, historic_id in rows:
            effective.add(pk)
            if historic_id is None:
                recorded.setdefault(zone_id, []).append((applied_on, pk))
    return recorded, effective


def reconcile(
    renewal: Renewal, standing: Standing, *, today: date, now: datetime, by: Person | None
) -> Outcome:
    """Bring one open renewal in line with its windows; the caller holds its row.

    Every window followed: done. Some followed or gone: the rest is dated anew and, without an open
    visit, goes back to due. None left: withdrawn. A visit under way is left alone until it ends;
    a booked one is never moved here, the office is told.
    """
    visit = standing.visits.get(renewal.pk)
    if visit is not None and visit.state in UNDER_WAY:
        return Outcome.UNCHANGED
    lines = list(standing.lines.get(renewal.pk, ()))
    followed = [one for one in lines if not standing.stands(one) and standing.is_followed(one)]
    lost = [one for one in lines if not standing.stands(one) and one not in followed]
    kept = [one for one in lines if standing.stands(one)]
    is_left_behind = renewal.state == RenewalState.BOOKED and visit is None
    if not followed and not lost and (lines or is_left_behind):
        return _give_back(renewal, visit)
    if visit is not None:
        kept += _replaced(lost, standing)
    if not kept:
        return _end(renewal, followed, visit)
    RenewalZone.objects.filter(pk__in=[one.pk for one in (*followed, *lost)]).delete()
    facts = [facts_of(one.window, one, standing.uses.get(one.window_id)) for one in kept]
    date_anew(renewal, facts, today)
    _tell(renewal, visit, "covers other zones or dates than when it was booked")
    return _give_back(renewal, visit) if is_left_behind else Outcome.REDATED


def _give_back(renewal: Renewal, visit: Visit | None) -> Outcome:
    """A booked renewal without an open visit is due again."""
    if renewal.state != RenewalState.BOOKED or visit is not None:
        return Outcome.UNCHANGED
    renewal.state = RenewalState.DUE
    renewal.save(update_fields=["state"])
    return Outcome.RETURNED


def _end(renewal: Renewal, followed: Sequence[RenewalZone], visit: Visit | None) -> Outcome:
    """Nothing is left to renew: done when somebody treated the zones, else withdrawn."""
    if followed:
        outcome, state, note = Outcome.DONE, RenewalState.DONE, "Every zone was treated again."
    else:
        note = "Its windows are no longer in force, or the account is closed."
        outcome, state = Outcome.WITHDRAWN, RenewalState.WITHDRAWN
        # Their windows are free again: a zone that comes back into use is renewed anew.
        RenewalZone.objects.filter(renewal=renewal).delete()
    renewal.state, renewal.closing_note = state, note
    renewal.save(update_fields=["state", "closing_note"])
    _tell(renewal, visit, "has nothing left to renew")
    return outcome


def _replaced(lost: Sequence[RenewalZone], standing: Standing) -> list[RenewalZone]:
    """For a booked visit, the windows now in force on zones whose own window is gone."""
    found = []
    for line in lost:
        for protection in standing.in_force.get(line.zone_id, ()):
            if not RenewalZone.objects.filter(window_id=protection.window_id).exists():
                fresh = RenewalZone(
                    renewal_id=line.renewal_id, zone=line.zone, window=protection.window
                )
                fresh.save()
                found.append(fresh)
    return found


def _tell(renewal: Renewal, visit: Visit | None, what: str) -> None:
    if visit is None:
        return
    open_item(
        branch_id=renewal.property.branch_id,
        code="booked_renewal_changed",
        thing=renewal,
        sentence=(
            f"The visit at {renewal.property} on {full_day(visit.day)} {what}. "
            "Open it and keep or cancel it."
        ),
    )


def facts_of(
    window: ResidualWindow, line: RenewalZone | None = None, uses: YearUses | None = None
) -> WindowFacts:
    """A window as the rules take it; its zone is fetched with it or with the line."""
    zone = line.zone if line is not None else window.zone
    return WindowFacts(
        window_id=window.pk,
        zone_id=zone.pk,
        zone_name=zone.name,
        property_id=zone.property_id,
        applied_on=window.applied_on,
        opens_on=window.opens_on,
        expires_on=window.lapses_on,
        claim_days=window.claim_days,
        claim_words="label claim" if window.historic_id is None else "label claim (spreadsheet)",
        factor_text=_factor_words(window),
        pest_group=window.pest_group,
        uses=uses,
    )


def facts_of_lines(
    lines: Sequence[RenewalZone], today: date, *, but: Collection[int] = ()
) -> list[WindowFacts]:
    """The windows of renewal lines with their uses; see `uses_ahead` for `but`."""
    uses = uses_ahead((line.window for line in lines), today, but=but)
    return [facts_of(one.window, one, uses.get(one.window_id)) for one in lines]


def _factor_words(window: ResidualWindow) -> str:
    if window.held_days >= window.claim_days:
        return ""
    # the zones of a renewal are told apart by semicolons
    return window.why.replace(";", ",")


def date_anew(renewal: Renewal, windows: Iterable[WindowFacts], today: date) -> None:
    """Date a renewal by all of its windows, as one visit serves them, and say why."""
    rows = sorted(windows, key=lambda one: (one.expires_on, one.window_id))
    spans = [interval_of(one, today) for one in rows]
    renewal.opens_on = max(span.earliest for span in spans)
    renewal.due_on = max(renewal.opens_on, min(span.latest for span in spans))
    renewal.lapses_on = rows[0].expires_on
    renewal.reason = renewal_reason(rows, today, renewal.due_on)
    if renewal.work != Work.INSPECT:
        renewal.work = work_on(rows, renewal.due_on)
    renewal.save(update_fields=["opens_on", "due_on", "lapses_on", "reason", "work"])
