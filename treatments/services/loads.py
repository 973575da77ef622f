"""Mixing a load, and ending it: what was left in the tank and where it went."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from accounts.services.audit import note_event, open_item
from sites.rules.branch_units import spray
from sites.rules.units import Amount, canonical
from treatments.models import Equipment, LabelUse, Load, LoadProduct, LoadRest, ProductLot
from treatments.rules.leaves import LOAD, LOAD_REST, SALT_BYTES
from treatments.rules.load_entries import (
    Leftover,
    Mixing,
    also_amount,
    digest_of_entry,
    mixed_amounts,
    refuse_more_than_held,
    rest_amount,
)
from treatments.rules.load_strength import refuse_strength
from treatments.rules.loads import GONE, STOPS, RestKind, judge_rest
from treatments.rules.tank_mixes import tank_mix_checks
from treatments.selectors.equipment import measured_output
from treatments.selectors.load_payloads import load_payloads, rest_payloads
from treatments.selectors.load_strength import allowed_strength
from treatments.selectors.loads import LoadState, hours_to_use
from treatments.selectors.tank_mixes import tank_mate
from treatments.selectors.whole import direction_named
from treatments.selectors.withdrawals import ended_by
from treatments.services.load_stock import container_for, move_rest
from treatments.services.load_use import locked_of_branch, locked_state
from treatments.services.log import append_leaf
from treatments.services.recalls import keep_recall_of_load

if TYPE_CHECKING:
    from accounts.models import Person

Row = TypeVar("Row", Load, LoadRest)


@dataclass(frozen=True)
class InTank:
    """One product of a tank that is mixed: its direction, how much of it, its lot."""

    use: LabelUse
    amount: Amount
    lot: ProductLot | None


def mix_load(*, mixing: Mixing, by: Person, now: datetime) -> Load:
    """Store a load that was mixed by the person; the same mixing again returns the first answer.

    No product leaves stock here: a record takes what it put out (DEVELOPERS.md, Decisions).
    Refused: a direction, lot or sprayer that does not fit, a label withdrawn by that day, an amount
    that cannot be, more than the sprayer's tank holds, a tank stronger than the label,
    a reference that already names another load; of two products, each of these for either of
    them, and two that a label does not let into one tank.
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
    on = mixing.mixed_at.astimezone(ZoneInfo(by.branch.time_zone)).date()
    _refuse_withdrawn(use, on, "lot")
    product, finished = mixed_amounts(mixing, use.rate_unit, now=now)
    also = _also(mixing, use, product, finished, by, on)
    sprayer, lot = _sprayer(mixing, by, finished), _lot(mixing.lot_id, by, use, "lot")
    in_tank = [InTank(use, product, lot), *([also] if also else [])]
    _refuse_strength(in_tank, finished, sprayer)
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
        use_within_hours=_shortest(in_tank),
        created_by=by,
        created_at=now,
    )
    if also is not None:
        _store_also(load, also, mixing, by, now)
    note_event(by=by, act="mix_load", thing=load, now=now, finished=load.finished_ul)
    keep_recall_of_load(load, now)
    append_leaf(
        branch_id=load.branch_id,
        kind=LOAD,
        payload=load_payloads([load.pk])[load.pk],
        record=None,
        by=by,
        now=now,
    )
    return load


def _also(
    mixing: Mixing, use: LabelUse, product: Amount, finished: Amount, by: Person, on: date
) -> InTank | None:
    """The second product of the tank; refused where a label does not let it in."""
    if mixing.also is None:
        return None
    other = direction_named(mixing.also.label_use_id)
    if other is None:
        raise Refused("direction", "Choose the other product of this tank first.")
    for one in tank_mix_checks((tank_mate(use), tank_mate(other)), Decimal(1)):
        if one.severity in STOPS:
            raise Refused("tank_mix", f"{one.sentence} {one.to_do}".strip(), field="also_amount")
    _refuse_withdrawn(other, on, "also_lot")
    amount = also_amount(mixing, other.rate_unit, product, finished)
    lot = _lot(mixing.also.lot_id, by, other, "also_lot")
    return None if amount is None else InTank(other, amount, lot)


def _refuse_strength(
    in_tank: Sequence[InTank], finished: Amount, sprayer: Equipment | None
) -> None:
    """Judge each product of the tank by its own label."""
    output = measured_output(sprayer.pk) if sprayer else None
    for one, field in zip(in_tank, ("product_amount", "also_amount"), strict=False):
        allowed = allowed_strength(one.use, output)
        beside = [other.amount for other in in_tank if other is not one]
        if allowed is not None:
            refuse_strength(allowed, one.amount, finished, beside=beside, field=field)


def _shortest(in_tank: Sequence[InTank]) -> Decimal | None:
    """How long every label allows the mixed load to be used."""
    hours = [hours_to_use(one.use) for one in in_tank]
    return min((one for one in hours if one is not None), default=None)


def _store_also(load: Load, also: InTank, mixing: Mixing, by: Person, now: datetime) -> None:
    LoadProduct.objects.create(
        load=load,
        label_version=also.use.label_version,
        lot=also.lot,
        product_amount=mixing.also.product.text.strip() if mixing.also else "",
        product_unit=also.amount.unit,
        **_measured(also.amount),
        created_by=by,
        created_at=now,
    )


def _refuse_withdrawn(use: LabelUse, on: date, field: str) -> None:
    ended = ended_by(use.label_version, on)
    if ended is not None and ended.not_to_be_used_after is not None:
        last = short_day(ended.not_to_be_used_after, True)
        sentence = (
            f"The {use.label_version} is withdrawn, not to be used after {last}: "
            f"{ended.reason.rstrip('.')}. Mix from a lot whose label is in force."
        )
        raise Refused("withdrawn", sentence, field=field)


def _measured(product: Amount) -> dict[str, int]:
    quantity = canonical(product.value, product.unit)
    return {"product_ul" if product.kind == "volume" else "product_mg": quantity}


def _sprayer(mixing: Mixing, by: Person, finished: Amount) -> Equipment | None:
    if mixing.sprayer_id is None:
        return None
    found = Equipment.objects.filter(pk=mixing.sprayer_id, branch_id=by.branch_id).first()
    if found is None:
        raise Refused("sprayer", "There is no such sprayer in your branch.", field="sprayer")
    if finished.exact > found.tank.exact:
        holds = spray(found.tank.to("gal").value, by.branch.units)
        sentence = f"{found} holds {holds}. Mix less, or take a bigger tank."
        raise Refused("sprayer", sentence, field="finished_amount")
    return found


def _lot(lot_id: int | None, by: Person, use: LabelUse, field: str) -> ProductLot | None:
    if lot_id is None:
        return None
    lots = ProductLot.objects.select_related("label_version__product")
    found = lots.filter(pk=lot_id, branch_id=by.branch_id).first()
    if found is None:
        raise Refused("lot", "There is no such lot in your branch.", field=field)
    if found.label_version_id != use.label_version_id:
        sentence = (
            f"Lot {found.lot_number} carries the {found.label_version}. Choose a direction of "
            "that label, or another lot."
        )
        raise Refused("lot", sentence, field=field)
    return found


@transaction.atomic
def settle_load(*, load_id: int, leftover: Leftover, by: Person, now: datetime) -> LoadRest:
    """Store what was left in the tank and what was done with it.

    What is kept is what is left from then on; anything else ends the load, and what is disposed
    of leaves stock. A difference over 2 % between load, uses and rest opens an item. Refused: a
    load of somebody else or one that has ended, an amount that cannot be, a disposal without how
    and where, more than the load held. The same again returns the first answer.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    return _settle(locked_state(by, pk=load_id), leftover, by, now)


@transaction.atomic
def end_load(*, load_id: int, leftover: Leftover, by: Person, now: datetime) -> LoadRest:
    """End somebody else's load of one of the manager's branches, with the reason.

    For a load whose technician left or cannot say it. Refused: no reason, keeping it, what
    `settle_load` refuses; more than was mixed by the records is taken as far as there was any.
    """
    require(by, Permission.EDIT_STOCK)
    if leftover.kind == RestKind.KEPT:
        sentence = "A manager ends a load. Say what was done with what is left."
        raise Refused("rest", sentence, field="kind")
    if not leftover.reason.strip():
        raise Refused("reason", "Say why you end this load.", field="reason")
    return _settle(locked_of_branch(by, load_id), leftover, by, now)


def _settle(state: LoadState, leftover: Leftover, by: Person, now: datetime) -> LoadRest:
    first = _first(LoadRest, leftover)
    if first is not None and first.load_id != state.load.pk:
        raise Refused("load", "This was said of another load. Open the load again and say it anew.")
    if first is not None:
        return first
    if state.board.is_ended:
        raise Refused("load", "This load has ended already. Nothing is left to say of it.")
    found = rest_amount(leftover, state.load.finished_ul)
    if by.pk == state.load.technician_id:
        found_ul, load_ul = canonical(found.value, found.unit), state.load.finished_ul
        system = state.load.branch.units
        refuse_more_than_held(leftover.kind, found_ul, state.put_out_ul, load_ul, system)
    container = container_for(leftover.kind, state.load.branch_id, leftover.container_id)
    rest = _store_rest(state, leftover, found, by, now)
    if leftover.kind in GONE:
        move_rest(state=state, rest=rest, container=container, by=by, now=now)
    _open_difference(state, rest)
    note_event(by=by, act="settle_load", thing=rest, now=now, load=state.load.pk)
    keep_recall_of_load(state.load, now)
    append_leaf(
        branch_id=state.load.branch_id,
        kind=LOAD_REST,
        payload=rest_payloads([rest.pk])[rest.pk],
        record=None,
        by=by,
        now=now,
    )
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
        reason=leftover.reason.strip(),
        salt=secrets.token_bytes(SALT_BYTES),
        created_by=by,
        created_at=now,
    )


def _open_difference(state: LoadState, rest: LoadRest) -> None:
    system = state.load.branch.units
    judged = judge_rest(state.load.finished_ul, state.left_ul, rest.ul, system)
    if judged is None:
        return
    open_item(
        branch_id=state.load.branch_id,
        code="load_difference",
        thing=rest,
        sentence=f"{state.load} of {state.load.technician.full_name}: {judged.sentence} "
        f"{judged.to_do}",
    )
