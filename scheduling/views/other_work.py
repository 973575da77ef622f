"""Recording work without a product at a stop."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import posted, saved
from scheduling.forms.other_work import OtherWorkForm
from scheduling.selectors.other_work import OtherWorkPage, other_work_page
from scheduling.selectors.today import zone_of
from scheduling.services import field
from treatments.rules.applications import Application, TreatedZone
from treatments.rules.other_work import WorkAmounts, with_amounts
from treatments.rules.products import Method


@require_http_methods(["GET", "POST"])
@requires(Permission.RECORD_APPLICATIONS)
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """Record vacuuming, trapping, sealing and the like: no product, no mix, no label check."""
    page = other_work_page(person_of(request), pk)
    form = _form(request, page)
    if form.is_bound and saved(form, lambda entered: _store(request, page, entered)):
        messages.success(request, "The work is recorded.")
        return redirect("stop", pk)
    status = 422 if form.is_bound else 200
    shown = {"page": page, "form": form}
    return render(request, "scheduling/field/other_work.html", shown, status=status)


def _form(request: HttpRequest, page: OtherWorkPage) -> OtherWorkForm:
    now, zone = timezone.now(), zone_of(person_of(request))
    begun = (page.started_at or now).astimezone(zone)
    initial = {"started": begun.time(), "finished": now.astimezone(zone).time()}
    return OtherWorkForm(posted(request), initial=initial, clock=(now, zone), offered=page.offered)


def _amounts(entered: dict[str, Any]) -> WorkAmounts:
    counted = {name: entered[name] for name in ("pieces", "minutes", "length")}
    return WorkAmounts(**counted, length_unit=entered["length_unit"] or "ft")


def _store(request: HttpRequest, page: OtherWorkPage, entered: dict[str, Any]) -> None:
    by = person_of(request)
    field.record_at_stop(
        visit_id=page.visit_pk,
        application=Application(
            client_ref=entered["client_ref"],
            property_id=page.property_id,
            applicator_id=by.pk,
            zones=tuple(TreatedZone(int(pk)) for pk in entered["zones"]),
            method=Method.NO_PRODUCT,
            started_at=entered["started_at"],
            finished_at=entered["finished_at"],
            pest_ids=tuple(int(pk) for pk in entered["pests"]),
            visit_ref=page.visit_ref,
            notes=entered["notes"],
            work_kinds=tuple(entered["kinds"]),
            work_done=with_amounts(entered["done"], _amounts(entered)),
        ),
        finish=entered["ending"] == "finish",
        by=by,
        now=timezone.now(),
    )
