"""The lots on a technician's truck, as the label check asks for them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import BigIntegerField, Case, F, Q, Sum, Value, When
from django.db.models.functions import Coalesce

from accounts.rules.day_words import short_day
from treatments.models import LabelUse, StockMove, StockPlace
from treatments.rules.label_checks.facts import CarriedLot
from treatments.selectors.withdrawals import last_day_of


@dataclass(frozen=True)
class LotAboard:
    """One lot of which something is on the truck."""

    pk: int
    number: str
    expires_on: date | None
    label_version_id: int
    label_date: date
    product_id: int
    label_until: date | None

    def has_run_out(self, on: date) -> bool:
        """Whether it expired before a day."""
        return self.expires_on is not None and self.expires_on < on


def lots_aboard(technician_id: int) -> tuple[LotAboard, ...]:
    """Every lot on the technician's truck, the oldest first; one query."""
    # by the keys of the place: a join at either end would go through every move of the firm
    trucks = StockPlace.objects.filter(technician=technician_id).order_by().values("pk")
    came, went = Q(to_place__in=trucks), Q(from_place__in=trucks)
    amount = Coalesce("ul", "mg")
    nothing = Value(0, BigIntegerField())
    signed = Case(When(came & went, then=nothing), When(came, then=amount), default=-amount)
    label = "lot__label_version"
    lots = (
        StockMove.objects.filter(came | went)
        .order_by("lot__received_on", "lot_id")
        .values("lot_id", "lot__received_on")
        .annotate(left=Sum(signed))
        .filter(left__gt=0)
    )
    columns = ("lot_id", "lot__lot_number", "lot__expires_on", label, f"{label}__label_date")
    rows = lots.values_list(*columns, F(f"{label}__product"), last_day_of(label))
    return tuple(LotAboard(*row) for row in rows)


def carried(aboard: Collection[LotAboard], use: LabelUse) -> tuple[CarriedLot, ...]:
    """The lots of the direction's product among those aboard."""
    return tuple(
        CarriedLot(
            number=lot.number,
            label=f"label of {short_day(lot.label_date, True)}",
            is_of_this_label=lot.label_version_id == use.label_version_id,
            expires_on=lot.expires_on,
            label_until=lot.label_until,
        )
        for lot in aboard
        if lot.product_id == use.label_version.product_id
    )
