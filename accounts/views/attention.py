"""What needs attention: matters that stay open until somebody says what was done."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.forms import CloseItemForm, ItemFilter
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.open_items import item_for, items_page, kinds_of
from accounts.services.open_items import close_item
from accounts.views.one_form import FormPage, one_form, posted


@requires(Permission.SEE_OPEN_ITEMS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List what is open, the oldest first, or what was closed."""
    person = person_of(request)
    kinds = kinds_of(person)
    choices = [(row.code, f"{row.kind.words} ({row.number})") for row in kinds]
    form = ItemFilter(request.GET, kinds=choices)
    wanted = form.cleaned_data if form.is_valid() else {}
    is_closed = wanted.get("show") == "closed"
    rows, page = items_page(
        person,
        is_closed=is_closed,
        code=wanted.get("kind", ""),
        acts=wanted.get("acts", ""),
        number=request.GET.get("page"),
    )
    now = timezone.now()
    shown = {
        "rows": rows,
        "page": page,
        "form": form,
        "is_closed": is_closed,
        "kinds": [(row, row.days(now)) for row in kinds],
    }
    return render(request, "accounts/attention.html", shown)


@requires(Permission.CLOSE_OPEN_ITEMS)
@require_http_methods(["GET", "POST"])
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close one matter with a note."""
    person = person_of(request)
    item = item_for(person, pk)
    words = FormPage(
        "Close this matter", "Close it", reverse("attention"), said="Closed.", source=item.sentence
    )
    form = CloseItemForm(posted(request))

    def save(typed: dict[str, str]) -> None:
        close_item(item_id=pk, note=typed["note"], by=person, now=timezone.now())

    return one_form(request, form, words, save)
