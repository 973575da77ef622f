"""Entering the moves of one lot: transfer, disposal, count, and taking one back."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.stock import CountForm, DisposalForm, TakeBackForm, TransferForm
from treatments.selectors.stock import lot_for, move_for
from treatments.selectors.stock_choices import places_of_lot, places_with
from treatments.services import stock


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def transfer(request: HttpRequest, pk: int) -> HttpResponse:
    """Move product of a lot to another place."""
    person = person_of(request)
    lot = lot_for(person, pk)
    form = TransferForm(
        posted(request),
        rows={"from_place": places_with(lot), "to_place": places_of_lot(lot)},
        initial={"unit": lot.container_unit},
    )
    words = FormPage(
        f"Transfer from {lot}",
        "Transfer",
        lot.get_absolute_url(),
        "The transfer is recorded.",
        source="More than is there is recorded as it was and stays open until it is set right.",
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: stock.transfer(
            lot_id=pk,
            from_place_id=entered["from_place"],
            to_place_id=entered["to_place"],
            client_ref=entered["client_ref"],
            amount=entered["amount"],
            unit=entered["unit"],
            by=person,
            now=timezone.now(),
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def dispose(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what of a lot was disposed of."""
    person = person_of(request)
    lot = lot_for(person, pk)
    rows = {"place": places_with(lot)}
    form = DisposalForm(posted(request), rows=rows, initial={"unit": lot.container_unit})
    words = FormPage(
        f"Dispose of {lot}",
        "Record the disposal",
        lot.get_absolute_url(),
        "The disposal is recorded.",
        source=lot.label_version.storage_and_disposal
        or "The label says how it may be disposed of.",
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: stock.dispose(
            lot_id=pk,
            place_id=entered["place"],
            amount=entered["amount"],
            unit=entered["unit"],
            how=entered["how"],
            client_ref=entered["client_ref"],
            where=entered["where"],
            by=person,
            now=timezone.now(),
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def adjust(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what was counted of a lot at a place."""
    person = person_of(request)
    lot = lot_for(person, pk)
    rows = {"place": places_of_lot(lot)}
    form = CountForm(posted(request), rows=rows, initial={"unit": lot.container_unit})
    words = FormPage(
        f"Count {lot}",
        "Save the count",
        lot.get_absolute_url(),
        "The count is saved.",
        source="A difference from the moves is kept as a move of its own and stays open.",
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: stock.adjust(
            lot_id=pk,
            place_id=entered["place"],
            counted=entered["amount"],
            client_ref=entered["client_ref"],
            unit=entered["unit"],
            reason=entered["reason"],
            by=person,
            now=timezone.now(),
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back a move that was entered wrong."""
    person = person_of(request)
    move = move_for(person, pk)
    words = FormPage(
        f"Take back: {move}",
        "Take the move back",
        move.lot.get_absolute_url(),
        "The opposite move is recorded.",
        source="The move stays; its opposite is written beside it.",
        danger=True,
    )
    return one_form(
        request,
        TakeBackForm(posted(request)),
        words,
        lambda entered: stock.take_back(
            move_id=pk, reason=entered["reason"], by=person, now=timezone.now()
        ),
    )
