"""The loads on board of a technician, in words: what is in them, what is left, how long."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sites.rules.branch_units import product as product_of
from sites.rules.branch_units import spray_of, tank
from treatments.rules.applications import Entered
from treatments.rules.loads import moment, time_left
from treatments.selectors.loads import (
    LoadState,
    amount_in,
    load_for,
    loads_on_board,
    local_time,
    products_in,
    records_of_load,
)

if TYPE_CHECKING:
    from accounts.models import Person
    from scheduling.selectors.mix_pages import MixPage
    from treatments.models import ApplicationRecord, LabelUse, Load, LoadProduct, LoadRest

Choices = list[tuple[object, str]]
EACH_UL = {"us": (3_785_412, "gallon"), "metric": (1_000_000, "liter")}


@dataclass(frozen=True)
class LoadRow:
    """One load as the phone lists it."""

    pk: int
    ref: str
    product: str
    mixed: str
    strength: str
    left: str
    time_left: str
    is_over: bool
    is_withdrawn: bool
    labels: frozenset[int]

    @property
    def words(self) -> str:
        """The load in one line, for a list to choose from."""
        line = f"{self.product}, {self.left} left, mixed {self.mixed}"
        return f"{line}, label withdrawn" if self.is_withdrawn else line

    @property
    def stopped(self) -> str:
        """Why none of it is put out any more, in a word; empty while it may be."""
        return "Label withdrawn" if self.is_withdrawn else "Over" if self.is_over else ""


@dataclass(frozen=True)
class UseLine:
    """What one record put out of a load; `name` of its product where the load has several."""

    pk: int
    city: str
    put_out: str
    product: str
    name: str


@dataclass(frozen=True)
class LoadPage:
    """One load with its records and what was said of its rest."""

    row: LoadRow
    mixed: str
    equipment: str
    lot: str
    label: str
    is_ended: bool
    uses: tuple[UseLine, ...]
    rests: tuple[str, ...]


def load_rows(person: Person, now: datetime) -> tuple[LoadRow, ...]:
    """The loads on board, the latest first."""
    return tuple(load_row(state, now) for state in loads_on_board(person))


def fitting(rows: Iterable[LoadRow], page: MixPage) -> tuple[LoadRow, ...]:
    """The loads of the label that is chosen on the mix, while there is time to use them."""
    if page.use is None or not page.is_allowed or page.deciding:
        return ()
    labels = {page.use.label_version_id, *(use.label_version_id for use in page.also_uses)}
    return tuple(row for row in rows if row.labels == labels and not row.stopped)


def load_row(state: LoadState, now: datetime) -> LoadRow:
    """One load in words."""
    load, board = state.load, state.board
    system = load.branch.units
    each_ul, each = EACH_UL[system]
    return LoadRow(
        pk=load.pk,
        ref=load.ref,
        product=board.product,
        mixed=moment(board.mixed_at),
        strength=f"{_products(state, each_ul)} in each {each}",
        left=spray_of(max(state.left_ul, 0), system),
        time_left=time_left(board, local_time(load, now)),
        is_over=board.is_over(now),
        is_withdrawn=board.is_withdrawn(now),
        labels=frozenset(row.label_version_id for row in load.products),
    )


def _products(state: LoadState, ul: int) -> str:
    """How much of each product is in a volume; with its name where several are in it."""
    rows = state.load.products
    if len(rows) == 1:
        return _product(state, rows[0], ul)
    return " and ".join(
        f"{_product(state, row, ul)} of {row.label_version.product}" for row in rows
    )


def _product(state: LoadState, row: Load | LoadProduct, ul: int) -> str:
    return product_of(amount_in(state, row, ul), state.load.branch.units, 2)


def load_choices(person: Person, now: datetime) -> Choices:
    """What a record may name as its load."""
    return [(row.ref, row.words) for row in load_rows(person, now)]


def lot_choices(page: MixPage) -> Choices:
    """The lots on the technician's vehicle that carry the label chosen on the mix."""
    return _lots(page, (page.use,) if page.use else ())


def also_lot_choices(page: MixPage) -> Choices:
    """The lots on the technician's vehicle that carry the label of the other product."""
    return _lots(page, page.also_uses)


def _lots(page: MixPage, uses: Iterable[LabelUse]) -> Choices:
    """The oldest first."""
    return [
        (lot.pk, f"Lot {lot.number}")
        for use in uses
        for lot in page.found.aboard
        if lot.label_version_id == use.label_version_id
    ]


def sprayer_choices(page: MixPage) -> Choices:
    """What holds spray in the technician's branch, with what its tank holds."""
    rows, system = page.found.sprayers, page.choice.system
    return [(pk, f"{one.name}, {tank(one.tank_gal, system)}") for pk, one in rows.items()]


def product_words(person: Person, ref: str, volume: Entered) -> str:
    """How much undiluted product a volume of a load is, in the unit it was measured in."""
    named = [
        (name, product_of(amount, person.branch.units, 3))
        for name, amount in products_in(person, ref, volume)
    ]
    if len(named) == 1:
        return f"{named[0][1]} of undiluted product"
    return " and ".join(f"{amount} of undiluted {name}" for name, amount in named)


def load_page(person: Person, pk: int, now: datetime) -> LoadPage:
    """One own load with everything that was said of it; otherwise Http404."""
    return page_of_load(load_for(person, pk), now)


def page_of_load(state: LoadState, now: datetime) -> LoadPage:
    """One load with its records and what was said of its rest."""
    load = state.load
    made = spray_of(load.finished_ul, load.branch.units)
    return LoadPage(
        row=load_row(state, now),
        mixed=f"{_products(state, load.finished_ul)} in {made}",
        equipment=load.equipment,
        lot=", ".join(row.lot.lot_number for row in load.products if row.lot),
        label=state.board.label,
        is_ended=state.board.is_ended,
        uses=tuple(_use_line(state, record) for record in records_of_load(load)),
        rests=tuple(_rest_words(rest, load) for rest in load.rests.all()),
    )


def _use_line(state: LoadState, record: ApplicationRecord) -> UseLine:
    row, put_out = state.product_of(record.label_version_id) or state.load, record.finished_ul or 0
    return UseLine(
        pk=record.pk,
        city=record.city,
        put_out=spray_of(put_out, state.load.branch.units),
        product=_product(state, row, put_out),
        name=row.label_version.product.name if len(state.load.products) > 1 else "",
    )


def _rest_words(rest: LoadRest, load: Load) -> str:
    parts = [
        f"{rest.get_kind_display()}: {spray_of(rest.ul, load.branch.units)}",
        moment(local_time(load, rest.at)),
        rest.disposed_how,
        rest.disposed_where,
        rest.reason and f"ended by a manager: {rest.reason}",
    ]
    return ", ".join(part for part in parts if part)
