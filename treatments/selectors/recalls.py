"""What of a withdrawn label is still on a shelf, on a truck or in a tank."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.db.models import Q

from accounts.selectors.people import branches_for
from sites.rules.branch_units import spray_of
from treatments.models import (
    LabelVersion,
    LabelWithdrawal,
    Load,
    LoadProduct,
    ProductLot,
    StockPlace,
)
from treatments.rules.loads import ENDS, moment
from treatments.selectors.loads import LoadState, local_time, named_loads, states_of
from treatments.selectors.stock import on_hand
from treatments.selectors.stock_rows import StockRow, stock_rows
from treatments.selectors.withdrawals import withdrawal_of

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class Held:
    """One lot at one place, or one load in a tank: what, how much, where, and its page."""

    branch_id: int
    branch: str
    words: str
    url: str


def held_under(
    version: LabelVersion, branch_ids: Collection[int], now: datetime
) -> tuple[Held, ...]:
    """Lots on hand and loads with something left that carry a label; a fixed few queries.

    What is below zero is owed, not held; a rinsate container is a place like any other.
    """
    return (*_lots(version, branch_ids, now), *_loads(version, branch_ids))


def still_held(person: Person, version: LabelVersion, now: datetime) -> tuple[Held, ...]:
    """What of a withdrawn label is held in the person's branches; nothing of another label."""
    if withdrawal_of(version) is None:
        return ()
    return held_under(version, [branch.pk for branch in branches_for(person)], now)


def withdrawn_label(pk: int) -> LabelVersion | None:
    """A label that is withdrawn, from a day that is over or to come; None for any other."""
    if not LabelWithdrawal.objects.filter(label_version=pk).exists():
        return None
    version = LabelVersion.objects.select_related("product").get(pk=pk)
    return version if withdrawal_of(version) else None


def withdrawn_labels() -> list[LabelVersion]:
    """Every label that is withdrawn."""
    known = LabelWithdrawal.objects.order_by().values("label_version")
    rows = LabelVersion.objects.filter(pk__in=known).select_related("product")
    return [one for one in rows.prefetch_related("withdrawals") if withdrawal_of(one)]


def _lots(version: LabelVersion, branch_ids: Collection[int], now: datetime) -> list[Held]:
    lots = ProductLot.objects.filter(label_version=version, branch__in=branch_ids)
    rows = lots.select_related("label_version__product", "branch")
    found = list(rows.prefetch_related("label_version__withdrawals"))
    here = on_hand([lot.pk for lot in found])
    places = StockPlace.objects.in_bulk({place for _, place in here})
    shown = stock_rows(found, places, here, now.date())
    return [_lot(row) for row in shown if row.quantity > 0]


def _lot(row: StockRow) -> Held:
    words = f"lot {row.lot.lot_number}, {row.amount} at {row.place}"
    return Held(row.lot.branch_id, row.lot.branch.name, words, row.lot.get_absolute_url())


def _loads(version: LabelVersion, branch_ids: Collection[int]) -> list[Held]:
    ended = Load.objects.filter(rests__kind__in=ENDS).values("pk")
    second = LoadProduct.objects.filter(label_version=version).values("load")
    of_label = Load.objects.filter(Q(label_version=version) | Q(pk__in=second))
    rows = of_label.filter(branch__in=branch_ids).exclude(pk__in=ended)
    states = states_of(named_loads(rows).select_related("technician"))
    left = [state for state in states if state.left_ul > 0]
    trucks = _trucks({state.load.technician_id for state in left})
    return [_load(state, trucks[state.load.technician_id]) for state in left]


def _trucks(technicians: Collection[int]) -> dict[int, str]:
    rows = StockPlace.objects.filter(technician__in=technicians)
    return defaultdict(str, {place.technician_id or 0: f" on {place}" for place in rows})


def _load(state: LoadState, truck: str) -> Held:
    load = state.load
    mixed = moment(local_time(load, load.mixed_at))
    left = spray_of(state.left_ul, load.branch.units)
    words = f"{left} of spray in a tank of {load.technician.full_name}{truck}, mixed {mixed}"
    return Held(load.branch_id, load.branch.name, words, load.get_absolute_url())
