"""Mixing a load, and ending it: what was left in the tank and where it went."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, TypeVar

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event, open_item
from sites.rules.units import Amount, canonical, display
from treatments.models import Equipment, LabelUse, Load, LoadRest, ProductLot
from treatments.rules.load_entries import (
    Leftover,
    Mixing,
    digest_of_entry,
    mixed_amounts,
    rest_amount,
)
from treatments.rules.load_strength import refuse_strength
from treatments.rules.loads import GONE, judge_rest
from treatments.selectors.equipment import measured_output
from treatments.selectors.load_strength import allowed_strength
from treatments.selectors.loads import LoadState, hours_to_use
from treatments.selectors.whole import direction_named
from treatments.services.load_use import locked_state
from treatments.services.stock_use import dispose_of_load

if TYPE_CHECKING:
    from accounts.models import Person

Row = TypeVar("Row", Load, LoadRest)


def mix_load(*, mixing: Mixing, by: Person, now: datetime) -> Load:
    """Store a load that was mixed by the person; the same mixing again returns the first answer.

    No product leaves stock here: a record takes what it put out (DEVELOPERS.md, Decisions).
    Refused: a direction, lot or sprayer that does not fit, an amount that cannot be, more than
    the sprayer's tank holds, a tank stronger or weaker than the label, a reference that already
    names another load.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    try:
        with transaction.atomic():
            return _first(Load, mixing) or _mix(mixing, by, now)
    except IntegrityError:
        # the same reference at the same moment: the other one was first
        first = _first(Load, mixing)
        if first is None:
            raise
        return first


def _first(model: type[Row], entry: Mixing | Leftover) -> Row | None:
    row: Row | None = model._default_manager.filter(client_ref=entry.client_ref).first()
    if row is not None and row.client_digest != digest_of_entry(entry):
        raise Refused(
            "reused_reference",
            "This reference already names another entry. Open the page again and send it anew.",
        )
    return row


def _mix(mixing: Mixing, by: Person, now: datetime) -> Load:
    use = direction_named(mixing.label_use_id)
    if use is None:
        raise Refused("direction", "Choose a product and direction for use first.")
    product, finished = mixed_amounts(mixing, use.rate_unit, now=now)
    sprayer, lot = _sprayer(mixing, by, finished), _lot(mixing, by, use)
    allowed = allowed_strength(use, measured_output(sprayer.pk) if sprayer else None)
    if allowed is not None:
        refuse_strength(allowed, product, finished)
    load = Load.objects.create(
        client_ref=mixing.client_ref,
        client_digest=digest_of_entry(mixing),
        branch=by.branch,
        technician=by,
        equipment=(mixing.equipment.strip() or (sprayer.name if sprayer else ""))[:80],
        sprayer=sprayer,
        label_version=use.label_version,
        lot=lot,
        product_amount=mixing.product.text.strip(),
        product_unit=product.unit,
        **_measured(product),
        finished_amount=mixing.finished.text.strip(),
        finished_unit=finished.unit,
        finished_ul=canonical(finished.value, finished.unit),
        mixed_at=mixing.mixed_at,
        visit_ref=mixing.visit_ref,
        use_within_hours=hours_to_use(use.label_version_id, use.pk),
        created_by=by,
    )
    note_event(by=by, act="mix_load", thing=load, now=now, finished=load.finished_ul)
    return load


def _measured(product: Amount) -> dict[str, int]:
    quantity = canonical(product.value, product.unit)
    return {"product_ul" if product.kind == "volume" else "product_mg": quantity}


def _sprayer(mixing: Mixing, by: Person, finished: Amount) -> Equipment | None:
    if mixing.sprayer_id is None:
        return None
    found = Equipment.objects.filter(pk=mixing.sprayer_id, branch_id=by.branch_id).first()
    if found is None:
        raise Refused("sprayer", "There is no such sprayer in your branch.", field="sprayer")
    if finished.exact > Amount(found.tank_gal, "gal").exact:
        holds = display(Amount(found.tank_gal, "gal"))
        sentence = f"{found} holds {holds}. Mix less, or take a bigger tank."
        raise Refused("sprayer", sentence, field="finished_amount")
    return found


def _lot(mixing: Mixing, by: Person, use: LabelUse) -> ProductLot | None:
    if mixing.lot_id is None:
        return None
    lots = ProductLot.objects.select_related("label_version__product")
    found = lots.filter(pk=mixing.lot_id, branch_id=by.branch_id).first()
    if found is None:
        raise Refused("lot", "There is no such lot in your branch.", field="lot")
    if found.label_version_id != use.label_version_id:
        sentence = (
            f"Lot {found.lot_number} carries the {found.label_version}. Choose a direction of "
            "that label, or another lot."
        )
        raise Refused("lot", sentence, field="lot")
    return found


@transaction.atomic
def settle_load(*, load_id: int, leftover: Leftover, by: Person, now: datetime) -> LoadRest:
    """Store what was left in the tank and what was done with it.

    What is kept may be used on; anything else ends the load, and what is disposed of leaves
    stock. A difference over 2 % between load, uses and rest opens an item. Refused: a load of
    somebody else or one that has ended, an amount that cannot be, a disposal without how and
    where. The same again returns the first answer.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    state = locked_state(by, pk=load_id)
    first = _first(LoadRest, leftover)
    if first is not None and first.load_id != load_id:
        raise Refused("load", "This was said of another load. Open the load again and say it anew.")
    if first is not None:
        return first
    if state.board.is_ended:
        raise Refused("load", "This load has ended already. Nothing is left to say of it.")
    found = rest_amount(leftover, state.load.finished_ul)
    rest = _store_rest(state, leftover, found, by, now)
    if leftover.kind in GONE:
        dispose_of_load(state=state, rest=rest, by=by, now=now)
    _open_difference(state, rest)
    note_event(by=by, act="settle_load", thing=rest, now=now, load=state.load.pk)
    return rest


def _store_rest(
    state: LoadState, leftover: Leftover, found: Amount, by: Person, now: datetime
) -> LoadRest:
    found_ul = canonical(found.value, found.unit)
    return LoadRest.objects.create(
        client_ref=leftover.client_ref,
        client_digest=digest_of_entry(leftover),
        load=state.load,
        kind=leftover.kind,
        amount=leftover.amount.text.strip() if leftover.amount and found_ul else "0",
        unit=found.unit,
        ul=found_ul,
        difference_ul=found_ul - state.left_ul,
        at=now,
        visit_ref=leftover.visit_ref,
        disposed_how=leftover.how.strip(),
        disposed_where=leftover.where.strip(),
        created_by=by,
    )


def _open_difference(state: LoadState, rest: LoadRest) -> None:
    judged = judge_rest(state.load.finished_ul, state.left_ul, rest.ul)
    if judged is None:
        return
    open_item(
        branch_id=state.load.branch_id,
        code="load_difference",
        thing=rest,
        sentence=f"{state.load} of {state.load.technician.full_name}: {judged.sentence} "
        f"{judged.to_do}",
    )
