"""Ranked places for a visit, with what the caller asks for first."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.forms.slots import CustomerAsksForm
from scheduling.selectors.slot_pages import (
    SlotQuestion,
    ask_for_property,
    ask_for_renewal,
    asks_of,
    slot_page,
)


@requires(Permission.BOOK_VISITS)
@require_GET
def for_renewal(request: HttpRequest, pk: int) -> HttpResponse:
    """The places for what lapses."""
    return _page(request, ask_for_renewal(person_of(request), pk, timezone.now()))


@requires(Permission.BOOK_VISITS)
@require_GET
def for_property(request: HttpRequest, pk: int) -> HttpResponse:
    """The places for any other visit at a property."""
    return _page(request, ask_for_property(person_of(request), pk, timezone.now()))


def _page(request: HttpRequest, question: SlotQuestion) -> HttpResponse:
    form = CustomerAsksForm(request.GET, technicians=question.technicians)
    sheet = slot_page(question, asks_of(form.wanted()))
    return render(request, "scheduling/slots.html", {"form": form, "sheet": sheet})
