"""What came in: every lot with its dealer, invoice, and who bought it under which license."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Q, Sum

from accounts.selectors.pages import page_of
from treatments.models import ProductLot
from treatments.rules.stock import MoveKind
from treatments.selectors.stock import lots_for
from treatments.selectors.stock_rows import day_or_nothing, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.core.paginator import Page

    from accounts.models import Person


@dataclass(frozen=True)
class Receipt:
    """One delivery of one lot; a receipt taken back shows nothing received."""

    lot: ProductLot
    received: str
    amount: str


def receipts_page(person: Person, number: object) -> tuple[Sequence[Receipt], Page[Any]]:
    """One page of 50 lots, the newest first, empty ones too."""
    came = Q(moves__kind=MoveKind.RECEIVE)
    lots = lots_for(person).annotate(
        came_ul=Sum("moves__ul", filter=came), came_mg=Sum("moves__mg", filter=came)
    )
    page = page_of(lots.order_by("-received_on", "-pk"), number)
    return [_receipt(lot) for lot in page.object_list], page


def _receipt(lot: ProductLot) -> Receipt:
    came = lot.came_ul if lot.came_ul is not None else lot.came_mg  # type: ignore[attr-defined]
    return Receipt(lot, day_or_nothing(lot.received_on), shown(came or 0, lot.container_unit))
