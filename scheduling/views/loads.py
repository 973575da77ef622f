"""The technician's loads: mixing one at a stop, and saying what is left of it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.pages import branch_choices
from accounts.views.one_form import FormPage, one_form, posted, saved
from scheduling.forms.filters import LoadsFilter
from scheduling.forms.loads import EndLoadForm, RestForm
from scheduling.selectors.board import load_page
from scheduling.selectors.loads import branch_load_page, loads_page, own_loads_page
from scheduling.selectors.mix_pages import MixPage
from scheduling.services.keepers import mix_at_stop
from scheduling.views.field import mix_page_of, shown_mix
from scheduling.views.mix_load_form import mix_load_form
from treatments.rules.applications import Entered
from treatments.rules.load_entries import AlsoMixed, Leftover, Mixing
from treatments.selectors.stock_choices import container_choices
from treatments.services.loads import end_load, settle_load


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
    mixing = Mixing(
        client_ref=entered["client_ref"],
        label_use_id=page.choice.use_id or 0,
        product=Entered(entered["product_amount"], entered["product_unit"]),
        finished=Entered(entered["finished_amount"], entered["finished_unit"]),
        mixed_at=entered["mixed_at"],
        visit_ref=page.visit_ref,
        equipment=entered["equipment"],
        sprayer_id=entered["sprayer"],
        lot_id=entered["lot"],
        also=_also(page, entered),
    )
    by = person_of(request)
    mix_at_stop(mixing=mixing, visit_id=page.visit_pk, by=by, now=timezone.now())


def _also(page: MixPage, entered: dict[str, Any]) -> AlsoMixed | None:
    if "also_amount" not in entered:
        return None
    product = Entered(entered["also_amount"], entered["also_unit"])
    return AlsoMixed(page.choice.also_id or 0, product, entered["also_lot"])


@require_http_methods(["GET", "POST"])
@requires(Permission.RECORD_APPLICATIONS)
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """One load: what was put out of it, and the form for what is left in the tank."""
    person = person_of(request)
    page = load_page(person, pk, timezone.now())
    form = RestForm(posted(request), containers=container_choices(person.branch_id))
    if form.is_bound and saved(form, lambda _: _settle(request, pk, form.leftover())):
        messages.success(request, "What is left of the load is stored.")
        return redirect("today")
    context = {"page": page, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/field/load.html", context, status=status)


def _settle(request: HttpRequest, pk: int, leftover: Leftover) -> None:
    settle_load(load_id=pk, leftover=leftover, by=person_of(request), now=timezone.now())


@require_GET
@requires(Permission.RECORD_APPLICATIONS)
def own(request: HttpRequest) -> HttpResponse:
    """The technician's own loads, those on board first."""
    page = own_loads_page(person_of(request), timezone.now(), request.GET.get("page"))
    return render(request, "scheduling/field/loads.html", {"page": page})


@require_GET
@requires(Permission.SEE_STOCK)
def index(request: HttpRequest) -> HttpResponse:
    """The loads of every technician, those on board first."""
    form = LoadsFilter(request.GET, branches=branch_choices(person_of(request)))
    wanted = form.wanted()
    page = loads_page(
        person_of(request), timezone.now(), request.GET.get("page"), wanted.get("branch")
    )
    return render(request, "scheduling/loads.html", {"page": page, "form": form})


@require_GET
@requires(Permission.SEE_STOCK)
def of_branch(request: HttpRequest, pk: int) -> HttpResponse:
    """One load as the office sees it."""
    page = branch_load_page(person_of(request), pk, timezone.now())
    return render(request, "scheduling/branch_load.html", {"page": page})


@require_http_methods(["GET", "POST"])
@requires(Permission.EDIT_STOCK)
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a load for somebody who cannot say any more what was left."""
    person = person_of(request)
    page = branch_load_page(person, pk, timezone.now())
    form = EndLoadForm(posted(request), containers=container_choices(page.branch_id))
    words = FormPage(
        f"End the load of {page.row.who}",
        "End the load",
        reverse("branch_load", args=[pk]),
        "The load is ended.",
        source=f"{page.row.product}, mixed {page.row.mixed}: by the records {page.row.left} left.",
        danger=True,
    )
    return one_form(request, form, words, lambda _: _end(request, pk, form.leftover()))


def _end(request: HttpRequest, pk: int, leftover: Leftover) -> None:
    end_load(load_id=pk, leftover=leftover, by=person_of(request), now=timezone.now())
