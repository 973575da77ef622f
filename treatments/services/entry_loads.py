"""A correction of a record that names its load: the product follows from the volume put out."""

from __future__ import annotations

from collections.abc import Iterable

from accounts.refusals import Refused
from sites.rules.units import canonical
from treatments.models import ApplicationRecord, LabelUse, Load, LoadProduct
from treatments.rules.applications import Entered, finished_amount
from treatments.rules.corrections import Change
from treatments.rules.loads import entered_text
from treatments.selectors.entries import amount_text
from treatments.selectors.loads import LoadState, load_key, named_loads, states_of


def with_product_of_load(
    before: ApplicationRecord, changes: Iterable[Change]
) -> tuple[Change, ...]:
    """The changes, with the product that a changed volume of a load holds.

    Refused: another amount of product, or a direction of another label, than the load's.
    """
    named = {one.field: one for one in changes}
    key = load_key(before.load_ref)
    state = next(iter(states_of(named_loads().filter(client_ref=key))), None) if key else None
    if state is None or not named:
        return tuple(named.values())
    row = state.product_of(before.label_version_id) or state.load
    _refuse_other_label(row, named.get("direction"))
    if "product_amount" in named:
        raise Refused(
            "load",
            "This record names a load: its product follows from the finished spray. Correct that.",
            field="product_amount",
        )
    if "finished_amount" in named:
        product = _product_in(state, row, str(named["finished_amount"].new))
        old = amount_text(before.product_amount, before.product_unit)
        named["product_amount"] = Change("product_amount", old, product)
    return tuple(named.values())


def _product_in(state: LoadState, row: Load | LoadProduct, volume: str) -> str:
    text, _, unit = volume.rpartition(" ")
    amount = finished_amount(Entered(text, unit)) if text else None
    if amount is None:
        raise Refused(
            "load", "A record of a load says how much was put out.", field="finished_amount"
        )
    quantity = state.mixture_of(row).product_in(canonical(amount.value, amount.unit))
    return amount_text(*entered_text(quantity, row.product_unit))


def _refuse_other_label(row: Load | LoadProduct, change: Change | None) -> None:
    if change is None:
        return
    uses = LabelUse.objects.filter(label_version_id=row.label_version_id)
    if change.new not in uses.values_list("pk", flat=True):
        raise Refused(
            "load",
            "This record names a load of another label. Ask to void it and record it anew.",
            field="direction",
        )
