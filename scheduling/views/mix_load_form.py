"""The form that puts a mixed tank on board, as the mix of a stop offers it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from accounts.guards import person_of
from scheduling.forms.loads import MixLoadForm
from scheduling.selectors.board import also_lot_choices, lot_choices, sprayer_choices
from scheduling.selectors.mix_pages import MixPage
from scheduling.selectors.today import zone_of


def mix_load_form(request: HttpRequest, page: MixPage, typed: Any = None) -> MixLoadForm | None:
    """The form that stores a mixed load; none where nothing may be mixed yet."""
    if page.plan is None or page.direction is None or not page.plan.loads:
        return None
    if page.deciding:
        return None
    person = person_of(request)
    clock = timezone.now(), zone_of(person)
    initial = {
        "product_unit": page.direction.unit,
        "mixed": clock[0].astimezone(clock[1]).time(),
        "sprayer": page.choice.equipment_id,
    }
    chosen: dict[str, Any] = {
        "lots": lot_choices(page),
        "sprayers": sprayer_choices(page),
    }
    if not page.also_uses:
        return MixLoadForm(typed, initial=initial, clock=clock, **chosen)
    initial["also_unit"] = page.also_uses[0].rate_unit
    names, also = (page.product, page.also_product), also_lot_choices(page)
    return MixLoadForm(typed, initial=initial, clock=clock, names=names, also_lots=also, **chosen)
