"""A record that names its load: the load is locked, the product follows, the load says its word."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.db.models import QuerySet

from accounts.refusals import Refused
from accounts.selectors.people import branches_for
from accounts.services.audit import open_item
from sites.rules.units import canonical
from treatments.models import LabelUse, Load, LoadProduct
from treatments.rules.applications import Application, Entered
from treatments.rules.label_checks import Judgement
from treatments.rules.load_entries import put_out
from treatments.rules.loads import entered_text, judge_use, why_not
from treatments.rules.products import Severity
from treatments.selectors.loads import LoadState, load_key, local_time, named_loads, states_of
from treatments.selectors.whole import Whole

if TYPE_CHECKING:
    from accounts.models import Person


def locked_state(by: Person, **named: Any) -> LoadState:
    """One load of the person, locked until the transaction ends; refused when there is none.

    Taken after the property and before any lot, so that two uses of one rest wait for each other.
    """
    found = _locked(Load.objects.filter(technician=by, **named))
    if found is None:
        raise Refused("load", "This load is not on board of yours. Choose another one, or none.")
    return found


def locked_of_branch(by: Person, load_id: int) -> LoadState:
    """One load of the person's branches, locked as `locked_state` does; refused when none."""
    found = _locked(Load.objects.filter(pk=load_id, branch__in=branches_for(by)))
    if found is None:
        raise Refused("load", "There is no such load in your branches.")
    return found


def _locked(loads: QuerySet[Load]) -> LoadState | None:
    locked = loads.select_for_update(of=("self",), no_key=True).first()
    if locked is None:
        return None
    return states_of(named_loads().select_related("technician").filter(pk=locked.pk))[0]


def with_load(
    application: Application, by: Person, beside: Iterable[Application] = ()
) -> tuple[Application, LoadState | None]:
    """The application with the product that its load gives, and the locked load.

    Product is the volume put out times the strength of the load, rounded once. Refused: a load
    that is not the person's, no volume, an amount of product beside the load's own, one record
    alone of a load of several products; `beside` is what is recorded together with it.
    """
    if not application.load_ref:
        return application, None
    state = locked_state(by, client_ref=load_key(application.load_ref))
    volume = put_out(application)
    row = _product_of(state, application, beside)
    quantity = state.mixture_of(row).product_in(canonical(volume.value, volume.unit))
    text, unit = entered_text(quantity, row.product_unit)
    # the reference is written one way only, so that what is left counts every use of it
    ref, amount = state.load.ref, Entered(text, unit)
    return replace(application, load_ref=ref, product_amount=amount), state


def _product_of(
    state: LoadState, application: Application, beside: Iterable[Application]
) -> Load | LoadProduct:
    """What of the load a record is of; its own product where no other one is in it."""
    rows = state.load.products
    if len(rows) == 1:
        return state.load
    named = [application.label_use_id, *(one.label_use_id for one in beside)]
    uses = LabelUse.objects.filter(pk__in=[use for use in named if use])
    labels = dict(uses.values_list("pk", "label_version_id"))
    if {row.label_version_id for row in rows} - set(labels.values()):
        _refuse_alone(state)
    return state.product_of(labels.get(application.label_use_id or 0)) or state.load


def _refuse_alone(state: LoadState) -> None:
    """A stop puts out all that is in the tank: each product has its record, stored together."""
    raise Refused(
        "load_together",
        f"This load is {state.board.product} in one tank: both are recorded together. Choose one "
        'as the direction on the mix and the other under "Also in this tank".',
        field="load",
    )


def judge_load(
    state: LoadState | None, whole: Whole, judged: tuple[Judgement, ...]
) -> tuple[Judgement, ...]:
    """What the load says of a use that the label has judged already.

    Refused: a load that ended, of another label, past its time to use, or where the label names
    not the place, method or pest. What was put out all the same is recorded without a load.
    """
    if state is None or whole.finished_amount is None:
        return ()
    started, finished = (
        local_time(state.load, at)
        for at in (whole.application.started_at, whole.application.finished_at)
    )
    label = whole.use.label_version_id if whole.use else 0
    board = state.board_of(label)
    refusal = why_not(board, label, started, finished, judged)
    if refusal:
        raise Refused("load", refusal, field="load")
    volume = canonical(whole.finished_amount.value, whole.finished_amount.unit)
    held, left = state.load.finished_ul, state.left_of(label)
    said = judge_use(board, held, left, volume, finished, state.load.branch.units)
    _open_short(state, said)
    return said


def _open_short(state: LoadState, said: tuple[Judgement, ...]) -> None:
    """More than the load had left is a matter for the manager, once a load."""
    for one in said:
        if one.code == "load" and one.severity == Severity.WARN:
            open_item(
                branch_id=state.load.branch_id,
                code="load_difference",
                thing=state.load,
                sentence=f"{state.load} of {state.load.technician.full_name}: {one.sentence} "
                f"{one.to_do}",
            )
