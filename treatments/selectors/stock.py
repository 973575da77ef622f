"""Reading stock: on hand is the sum of the moves; lots, places, what is running out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.http import Http404

from accounts.selectors.people import branches_for
from treatments.models import (
    LabelUse,
    LabelVersion,
    PastDriver,
    ProductLot,
    ReorderLevel,
    StockMove,
    StockPlace,
)
from treatments.selectors.every_record import left_at, lots_ever_at, vehicle_driven

if TYPE_CHECKING:
    from accounts.models import Person

Row = TypeVar("Row")
OnHand = dict[tuple[int, int], int]
QUANTITY = Coalesce(F("ul"), F("mg"))


def places_for(person: Person | None) -> QuerySet[StockPlace]:
    """The stores and vehicles of the person's branches."""
    places = StockPlace.objects.select_related("branch", "technician")
    return places.filter(branch__in=branches_for(person))


def lots_for(person: Person | None) -> QuerySet[ProductLot]:
    """The lots of the person's branches with their labels and products, oldest first."""
    lots = ProductLot.objects.select_related("label_version__product", "branch")
    lots = lots.prefetch_related("label_version__withdrawals")
    return lots.filter(branch__in=branches_for(person))


def place_for(person: Person | None, pk: int) -> StockPlace:
    """One place of the person's branches; otherwise Http404."""
    return _found(places_for(person).filter(pk=pk).first())


def lot_for(person: Person | None, pk: int) -> ProductLot:
    """One lot of the person's branches; otherwise Http404."""
    return _found(lots_for(person).filter(pk=pk).first())


def move_for(person: Person | None, pk: int) -> StockMove:
    """One move of a lot of the person's branches; otherwise Http404."""
    moves = StockMove.objects.select_related("lot__label_version__product")
    return _found(moves.filter(pk=pk, lot__branch__in=branches_for(person)).first())


def _found(row: Row | None) -> Row:
    if row is None:
        raise Http404
    return row


def moves_of(lot_id: int) -> list[StockMove]:
    """Every move of a lot, newest first."""
    rows = StockMove.objects.filter(lot_id=lot_id).select_related(
        "from_place", "to_place", "created_by", "record", "corrects", "corrected_by"
    )
    return list(rows.order_by("-at", "-pk"))


def on_hand(lot_ids: Collection[int] | None = None, place_id: int | None = None) -> OnHand:
    """Whole uL or mg by (lot, place), also where it is zero or below.

    Two queries; one for one place.
    """
    if place_id is not None:
        return {(lot_id, place_id): left for lot_id, left in left_at(lot_ids, place_id).items()}
    moves = StockMove.objects.all() if lot_ids is None else _moves_of(lot_ids)
    sums: dict[tuple[int, int], int] = defaultdict(int)
    for column, sign in (("to_place_id", 1), ("from_place_id", -1)):
        for lot_id, place, total in _summed(moves, column):
            sums[lot_id, place] += sign * total
    return dict(sums)


def _moves_of(lot_ids: Collection[int]) -> QuerySet[StockMove]:
    return StockMove.objects.filter(lot_id__in=lot_ids)


def _summed(moves: QuerySet[StockMove], column: str) -> Iterable[tuple[int, int, int]]:
    here = Q(**{f"{column}__isnull": False})
    grouped = moves.filter(here).order_by().values_list("lot_id", column)
    return grouped.annotate(total=Sum(QUANTITY)).values_list("lot_id", column, "total")


def vehicle_of(technician_id: int) -> StockPlace | None:
    """The vehicle a technician drives; None when no stock is kept for them."""
    return StockPlace.objects.filter(technician_id=technician_id).first()


def vehicle_at(technician_id: int, at: datetime) -> StockPlace | None:
    """The vehicle a technician drove at a moment; None when no stock was kept for them."""
    return vehicle_driven(technician_id, at)


def driven_at(technician: Any, at: object) -> QuerySet[StockPlace]:
    """The vehicle somebody drives now and drove at a moment; takes outer references too."""
    since = Q(technician_since__isnull=True) | Q(technician_since__lte=at)
    return StockPlace.objects.filter(since, technician=technician)


def driven_before(technician: Any, at: object) -> QuerySet[PastDriver]:
    """What somebody drove at a moment and has handed over since; takes outer references too."""
    since = Q(since__isnull=True) | Q(since__lte=at)
    return PastDriver.objects.filter(since, technician=technician, until__gt=at)


def lots_in(place_id: int, label_version_id: int) -> list[int]:
    """Keys of the lots of one label that ever were at a place, oldest first."""
    return lots_ever_at(place_id, label_version_id)


def label_unit(label_version_id: int) -> str:
    """The unit the label measures its product in: that of its first direction; else ``."""
    uses = LabelUse.objects.filter(label_version_id=label_version_id).order_by("pk")
    return uses.values_list("rate_unit", flat=True).first() or ""


def labels_to_receive() -> list[LabelVersion]:
    """Every label a container may carry, by product, the newest first."""
    return list(
        LabelVersion.objects.filter(is_draft=False)
        .select_related("product")
        .order_by("product__name", "-pk")
    )


def label_named(pk: int) -> LabelVersion | None:
    """One label with its product."""
    return LabelVersion.objects.select_related("product").filter(pk=pk).first()


def reorder_levels(person: Person | None) -> dict[tuple[int, int], ReorderLevel]:
    """The reorder levels by (branch, product)."""
    rows = ReorderLevel.objects.filter(branch__in=branches_for(person))
    named = rows.select_related("branch", "product").order_by("product__name", "branch__name")
    return {(one.branch_id, one.product_id): one for one in named}
