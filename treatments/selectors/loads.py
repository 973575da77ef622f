"""Reading loads: what is on board of whom, what is left, how long it may be used."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery
from django.http import Http404

from accounts.refusals import Refused
from sites.rules.units import Amount, canonical, from_canonical, unit_word
from treatments.models import (
    ApplicationRecord,
    LabelLimit,
    LabelWithdrawal,
    Load,
    LoadProduct,
    LoadRest,
)
from treatments.rules.applications import Entered, finished_amount
from treatments.rules.loads import ENDS, GONE, Mixture, OnBoard, RestKind, left_ul, moment
from treatments.rules.products import Comparison, LimitFact, Severity
from treatments.selectors.records import effective_records

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import LabelUse


PutOut = tuple[datetime, int]
Uses = Mapping[int | None, list[PutOut]]  # by label version


@dataclass(frozen=True)
class LoadState:
    """A load as it stands: `put_out_ul` by its records in force, `gone_ul` disposed of.

    `found_ul` is what was in the tank when it was last said, at first what was mixed, and
    `since_ul` what was put out after that. Each stop records every product of the tank with the
    same spray, so that the spray counts once: as the product that says the most says it.
    `by_label` is put out and since by label version.
    """

    load: Load
    board: OnBoard
    put_out_ul: int
    gone_ul: int
    found_ul: int
    since_ul: int
    by_label: Mapping[int, tuple[int, int]]

    @property
    def mixture(self) -> Mixture:
        """Product and finished spray as mixed."""
        return self.mixture_of(self.load)

    def mixture_of(self, row: Load | LoadProduct) -> Mixture:
        """One product of the tank in its finished spray."""
        return Mixture(row.product, self.load.finished_ul)

    def product_of(self, label_version_id: int | None) -> Load | LoadProduct | None:
        """What of one label is in the tank."""
        rows = self.load.products
        return next((row for row in rows if row.label_version_id == label_version_id), None)

    def board_of(self, label_version_id: int) -> OnBoard:
        """The load as a record of one of its products sees it."""
        row = self.product_of(label_version_id)
        if row is None:
            return self.board
        label = row.label_version
        return replace(
            self.board,
            product=label.product.name,
            label=str(label),
            label_version_id=label_version_id,
        )

    def left_of(self, label_version_id: int) -> int:
        """What the records of one product leave of the spray."""
        _, since = self.by_label.get(label_version_id, (0, 0))
        return left_ul(self.found_ul, [since], [self.gone_ul])

    @property
    def left_ul(self) -> int:
        """What is left of what was found last; below zero when more was put out than there was."""
        return left_ul(self.found_ul, [self.since_ul], [self.gone_ul])

    def product_left(self, row: Load | LoadProduct) -> int:
        """Undiluted product that records and disposals have not taken out of stock yet."""
        put_out, _ = self.by_label.get(row.label_version_id, (0, 0))
        gone = self.mixture_of(row).product_in(put_out + self.gone_ul)
        return max(row.product - gone, 0)


def loads_on_board(person: Person) -> tuple[LoadState, ...]:
    """A technician's loads that are neither empty nor ended, the latest first; four queries."""
    ended = Load.objects.filter(rests__kind__in=ENDS).values("pk")
    rows = named_loads().filter(technician=person).exclude(pk__in=ended)
    return tuple(state for state in states_of(rows) if state.left_ul > 0)


def load_for(person: Person, pk: int) -> LoadState:
    """One own load of a technician; otherwise Http404."""
    found = states_of(named_loads().filter(pk=pk, technician=person))
    if not found:
        raise Http404("No such load of yours.")
    return found[0]


def named_loads(loads: QuerySet[Load] | None = None) -> QuerySet[Load]:
    """Loads with label, product, lot, branch and rests, and what ends the use of each product."""
    rows = Load.objects.all() if loads is None else loads
    related = ("label_version__product", "branch", "lot")
    others = LoadProduct.objects.select_related("label_version__product", "lot")
    also = Prefetch("also", others.annotate(**_ends_of_label()))
    return (
        rows.select_related(*related).prefetch_related("rests", also).annotate(**_ends_of_label())
    )


def _ends_of_label() -> dict[str, Subquery]:
    """By the row's label: the last day and why, and the shortest time to use that only warns."""
    label = {"label_version": OuterRef("label_version")}
    newest = LabelWithdrawal.objects.filter(**label).order_by("-pk")
    at_most = {"fact": LimitFact.MIXED_HOURS, "comparison": Comparison.AT_MOST}
    warned = LabelLimit.objects.filter(**label, **at_most, severity=Severity.WARN)
    return {
        "label_until": Subquery(newest.values("not_to_be_used_after")[:1]),
        "withdrawn_because": Subquery(newest.values("reason")[:1]),
        "warned_hours": Subquery(warned.order_by("limit").values("limit")[:1]),
    }


def states_of(loads: Iterable[Load]) -> tuple[LoadState, ...]:
    """Each load with what its records put out: one query for all of them."""
    rows = list(loads)
    put_out = put_out_of([load.ref for load in rows])
    return tuple(_state(load, put_out.get(load.ref, {})) for load in rows)


def put_out_of(refs: Collection[str]) -> dict[str, Uses]:
    """When and how much finished spray by load and label version, of records in force."""
    found: dict[str, dict[int | None, list[PutOut]]] = defaultdict(lambda: defaultdict(list))
    rows = effective_records().filter(load_ref__in=refs).order_by()
    columns = ("load_ref", "label_version_id", "finished_at", "received_at", "finished_ul")
    for ref, label, finished, received, volume in rows.values_list(*columns):
        # what was here before the tank was read is in the reading, however its clock went
        found[ref][label].append((min(finished, received), volume or 0))
    return dict(found)


def records_of_load(load: Load) -> list[ApplicationRecord]:
    """The records in force that name a load, the first first."""
    return list(effective_records().filter(load_ref=load.ref).order_by("started_at", "pk"))


def load_key(ref: str) -> UUID | None:
    """The reference of a load as a record writes it; None for what no load is named by."""
    try:
        return UUID(ref)
    except ValueError:
        return None


def has_two_products(person: Person, ref: str) -> bool:
    """Whether an own load, also one that is empty by now, has a second product in it."""
    key = load_key(ref)
    if key is None:
        return False
    return LoadProduct.objects.filter(load__technician=person, load__client_ref=key).exists()


Named = tuple[str, int | None]  # the reference of a load and the label of the record naming it


def load_words(ref: str, label_version_id: int | None) -> str:
    """The load that a record names: what of its label was mixed and when; nothing without one."""
    named = (ref, label_version_id)
    return loads_words([named])[named]


def loads_words(named: Collection[Named]) -> dict[Named, str]:
    """The same for many records in one go; what names no load stays as it is."""
    keys = {key for ref, _ in named if (key := load_key(ref))}
    loads = named_loads().filter(client_ref__in=keys) if keys else ()
    found = {load.client_ref: load for load in loads}
    words = {}
    for ref, label in named:
        key = load_key(ref)
        load = found.get(key) if key else None
        words[ref, label] = _mixed_words(load, label) if load else ref
    return words


def _mixed_words(load: Load, label_version_id: int | None) -> str:
    mixed = moment(local_time(load, load.mixed_at))
    rows = load.products
    row = next((row for row in rows if row.label_version_id == label_version_id), rows[0])
    product = f"{row.product_amount} {unit_word(row.product_unit)}"
    finished = f"{load.finished_amount} {unit_word(load.finished_unit)}"
    others = [other.label_version.product.name for other in rows if other is not row]
    beside = f" with {' and '.join(others)}" if others else ""
    return f"{product} in {finished}{beside}, mixed {mixed}"


def hours_to_use(use: LabelUse) -> Decimal | None:
    """How long the label allows a mixed load to be used: the shortest limit of the direction.

    A limit that nobody verified warns in the label check and ends nothing here. Without a query
    where the limits are prefetched.
    """
    ends = (LimitFact.MIXED_HOURS, Comparison.AT_MOST, Severity.REFUSE)
    rows = [row for row in use.label_version.limits.all() if row.label_use_id in (None, use.pk)]
    named = [row.limit for row in rows if (row.fact, row.comparison, row.severity) == ends]
    return min(named, default=None)


def _state(load: Load, uses: Uses) -> LoadState:
    rests = load.rests.all()
    kept = max((rest for rest in rests if rest.kind == RestKind.KEPT), key=_when, default=None)
    products: list[Any] = list(load.products)  # annotated by `named_loads`
    labels = [row.label_version for row in products]
    withdrawn = min((row for row in products if row.label_until), key=_last_day, default=None)
    by_label = {label: _put_out(rows, kept) for label, rows in uses.items() if label}
    return LoadState(
        load=load,
        board=OnBoard(
            product=" and ".join(label.product.name for label in labels),
            label=" and ".join(map(str, labels)),
            label_version_id=load.label_version_id,
            mixed_at=local_time(load, load.mixed_at),
            hours=load.use_within_hours,
            warned_hours=min(filter(None, (row.warned_hours for row in products)), default=None),
            label_until=withdrawn.label_until if withdrawn else None,
            withdrawn_because=withdrawn.withdrawn_because if withdrawn else "",
            is_ended=any(rest.kind in ENDS for rest in rests),
        ),
        put_out_ul=max((put_out for put_out, _ in by_label.values()), default=0),
        gone_ul=sum(rest.ul for rest in rests if rest.kind in GONE),
        found_ul=kept.ul if kept else load.finished_ul,
        since_ul=max((since for _, since in by_label.values()), default=0),
        by_label=by_label,
    )


def _put_out(uses: list[PutOut], kept: LoadRest | None) -> tuple[int, int]:
    since = sum(volume for at, volume in uses if kept is None or at > kept.at)
    return sum(volume for _, volume in uses), since


def _last_day(row: Any) -> date:
    last: date = row.label_until
    return last


def _when(rest: LoadRest) -> tuple[datetime, int]:
    return rest.at, rest.pk


def local_time(load: Load, at: datetime) -> datetime:
    """A moment on the clock of the load's branch."""
    return at.astimezone(ZoneInfo(load.branch.time_zone))


def products_in(person: Person, ref: str, volume: Entered) -> tuple[tuple[str, Amount], ...]:
    """Each undiluted product in a volume of an own load, by name; refused without either."""
    key = load_key(ref)
    own = named_loads().filter(technician=person)
    found = states_of(own.filter(client_ref=key)) if key else ()
    amount = finished_amount(volume)
    if not found:
        raise Refused("load", "Choose a load that is on board first.", field="load")
    if amount is None:
        raise Refused("load", "Type the finished spray you put out first.", field="finished_amount")
    state, ul = found[0], canonical(amount.value, amount.unit)
    return tuple(
        (row.label_version.product.name, amount_in(state, row, ul)) for row in state.load.products
    )


def amount_in(state: LoadState, row: Load | LoadProduct, ul: int) -> Amount:
    """One product of a load in a volume of its spray, in the unit it was measured in."""
    quantity = state.mixture_of(row).product_in(ul)
    return Amount(from_canonical(quantity, row.product_unit), row.product_unit)
