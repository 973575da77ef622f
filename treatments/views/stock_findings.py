"""Setting right what was found about stock."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.open_items import open_item_for
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.stock import FindingForm
from treatments.rules.stock import FINDINGS
from treatments.selectors.stock_agreement import record_for_stock
from treatments.services.stock_findings import close_finding
from treatments.services.stock_use import take_missing


@requires(Permission.EDIT_STOCK)
@require_http_methods(["GET", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a finding with a note."""
    person = person_of(request)
    item = open_item_for(person, pk, FINDINGS)
    words = FormPage(
        "Close a finding",
        "Close the finding",
        reverse("stock"),
        "The finding is closed.",
        source=item.sentence,
    )
    return one_form(
        request,
        FindingForm(posted(request)),
        words,
        lambda entered: close_finding(
            item=item, note=entered["note"], by=person, now=timezone.now()
        ),
    )


@requires(Permission.EDIT_STOCK)
@require_POST
def take(request: HttpRequest, pk: int) -> HttpResponse:
    """Take what a record used and never took."""
    person = person_of(request)
    record = record_for_stock(person, pk)
    if record is None:
        raise Http404("No such record.")
    take_missing(record_id=record.pk, by=person, now=timezone.now())
    messages.success(request, f"What record {record.pk} used is taken from its vehicle.")
    return redirect("stock")
