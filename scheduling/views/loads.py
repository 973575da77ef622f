"""The technician's loads: mixing one at a stop, and saying what is left of it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.views.one_form import posted, saved
from scheduling.forms.loads import RestForm
from scheduling.selectors.board import load_page
from scheduling.selectors.mix_pages import MixPage
from scheduling.selectors.today import zone_of
from scheduling.views.field import mix_load_form, mix_page_of, shown_mix
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Leftover, Mixing
from treatments.services.loads import mix_load, settle_load


@require_POST
@requires(Permission.RECORD_APPLICATIONS)
def mix(request: HttpRequest, pk: int) -> HttpResponse:
    """Store the load that was mixed; the same form sent again changes nothing."""
    page = mix_page_of(request, pk)
    form = mix_load_form(request, page, request.POST)
    if form is None:
        raise Refused("mix", "Choose zones and a direction that the label allows, then mix.")
    if not saved(form, lambda entered: _mix(request, page, entered)):
        return shown_mix(request, page, form, status=422)
    messages.success(request, "The load is on board. Records name it until it is empty.")
    return redirect(f"{reverse('mix', args=[pk])}?{page.query}")


def _mix(request: HttpRequest, page: MixPage, entered: dict[str, Any]) -> None:
    now, zone = timezone.now(), zone_of(person_of(request))
    mixing = Mixing(
        client_ref=entered["client_ref"],
        label_use_id=page.choice.use_id or 0,
        product=Entered(entered["product_amount"], entered["product_unit"]),
        finished=Entered(entered["finished_amount"], entered["finished_unit"]),
        mixed_at=datetime.combine(now.astimezone(zone).date(), entered["mixed"], zone),
        visit_ref=page.visit_ref,
        equipment=entered["equipment"],
        sprayer_id=entered["sprayer"],
        lot_id=entered["lot"],
    )
    mix_load(mixing=mixing, by=person_of(request), now=now)


@require_http_methods(["GET", "POST"])
@requires(Permission.RECORD_APPLICATIONS)
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One load: what was put out of it, and the form for what is left in the tank."""
    person = person_of(request)
    page = load_page(person, pk, timezone.now())
    form = RestForm(posted(request))
    if form.is_bound and saved(form, lambda entered: _settle(request, pk, entered)):
        messages.success(request, "What is left of the load is stored.")
        return redirect("today")
    context = {"page": page, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/field/load.html", context, status=status)


def _settle(request: HttpRequest, pk: int, entered: dict[str, Any]) -> None:
    amount = entered["amount"]
    leftover = Leftover(
        client_ref=entered["client_ref"],
        kind=entered["kind"],
        amount=Entered(amount, entered["unit"]) if amount else None,
        how=entered["how"],
        where=entered["where"],
    )
    settle_load(load_id=pk, leftover=leftover, by=person_of(request), now=timezone.now())
