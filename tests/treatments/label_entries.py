"""A label as a manager types it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from treatments.models import Product
from treatments.rules.label_entry import NewDirection, NewIngredient, NewLabel, NewLimit
from treatments.services.products import register_product

TODAY = date(2026, 11, 25)
ENTERED = datetime(2026, 11, 24, 20, 0, tzinfo=UTC)
DAY = timedelta(hours=24)


def refused_by(act: Any, *args: Any, **facts: Any) -> Refused:
    """The refusal of an act that must be refused."""
    with pytest.raises(Refused) as refused:
        act(*args, **facts)
    return refused.value


def register(by: Person | None, **changes: Any) -> Product:
    """A demonstration concentrate."""
    facts: dict[str, Any] = {
        "name": "Demonstration A SC",
        "registration_kind": "section3",
        "registration_number": "EPA Reg. No. 099999 - 0101",
        "formulation": "sc",
        "ingredients": (NewIngredient("demothrin", Decimal("7.9"), Decimal("0.666667"), "3A"),),
    }
    return register_product(by=by, **(facts | changes))


def label_of(product: Product, pest_id: int, **changes: Any) -> NewLabel:
    """A label with one direction and two limits."""
    direction = NewDirection(
        title="Outside band",
        places=("foundation_wall", "soil_band"),
        methods=("perimeter_band",),
        pest_ids=(pest_id,),
        rate_max=Decimal(1),
        rate_unit="fl_oz",
        page="p. 4",
        per_gallon=Decimal(1),
        gallons_per_1000=Decimal(1),
        residual_days=90,
        min_interval_days=21,
    )
    limits = (
        NewLimit("wind", "at_most", Decimal(10), "refuse", "Not in wind above 10 mph.", "p. 6"),
        NewLimit(
            "height_up", "at_most", Decimal(3), "refuse", "3 ft up at most.", "p. 5", "Outside band"
        ),
    )
    facts: dict[str, Any] = {
        "product_id": product.pk,
        "label_date": date(2026, 2, 1),
        "effective_on": date(2026, 2, 1),
        "protective_equipment": "Gloves.",
        "reentry_text": "Keep people and pets off until dry.",
        "precautions": "Toxic to fish.",
        "directions": (direction,),
        "limits": limits,
        "pages": {
            "protective_equipment": "p. 2",
            "reentry_text": "p. 2",
            "precautions": "p. 1",
        },
    }
    return NewLabel(**(facts | changes))
