"""Setting right what the use log and the stock say differently."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.selectors.stock_agreement import record_for_stock
from treatments.services.stock_use import take_missing


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
