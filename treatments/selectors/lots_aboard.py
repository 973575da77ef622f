"""The lots on a technician's truck, as the label check asks for them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from accounts.rules.day_words import short_day
from treatments.models import LabelUse
from treatments.rules.label_checks.facts import CarriedLot
from treatments.selectors.every_record import lots_on_truck


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
    return tuple(LotAboard(*row) for row in lots_on_truck(technician_id))


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
