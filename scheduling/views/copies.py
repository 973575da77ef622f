"""The customer's copy of what was recorded: its page, giving it, the paper."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.notices import Way
from accounts.views.one_form import posted, saved
from scheduling.forms.copies import CopyForm
from scheduling.selectors.copies import copy_panel, copy_work, paper_of
from scheduling.services.copies import give_copy
from treatments.reports.notice import draw_notice

SAID = {
    Way.EMAIL: "The copy waits to be sent; it goes out with the next round.",
    Way.PAPER: "Noted: handed over on paper.",
    Way.PHONE: "Noted: shown on the phone.",
}


@require_http_methods(["GET", "POST"])
@requires(Permission.GIVE_COPIES)
def give(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the customer the copy of a record, and see who has it."""
    person = person_of(request)
    panel = copy_panel(person, pk, timezone.now())
    form = CopyForm(posted(request), to=panel.to)

    def save(typed: dict[str, str]) -> None:
        way = Way(typed["way"])
        give_copy(record_id=pk, to=typed["to"], way=way, by=person, now=timezone.now())

    if form.is_bound and saved(form, save):
        messages.success(request, SAID[Way(form.cleaned_data["way"])])
        stop = request.POST.get("stop", "")
        return redirect("stop", stop) if _is_number(stop) else redirect("record_copy", pk)
    status = 422 if form.is_bound else 200
    context = {"panel": panel, "form": form}
    return render(request, "scheduling/copy.html", context, status=status)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 19


@require_GET
@requires(Permission.GIVE_COPIES)
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The copy as a PDF."""
    notice = paper_of(copy_work(person_of(request), pk), demo=settings.DEMO)
    if notice is None:
        raise Http404("Nothing of this record stands.")
    name = {"Content-Disposition": f'inline; filename="copy-{pk}.pdf"'}
    return HttpResponse(draw_notice(notice), content_type="application/pdf", headers=name)
