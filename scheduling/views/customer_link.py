"""The customer's page by link: next visit, confirm or another time, preparing, tasks, letters.

The link itself opens nothing before one confirming page; every act here is a POST.
"""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from accounts.guards import refuse_too_many
from scheduling.forms.preparing import OtherTimeForm
from scheduling.rules.prep import Answer
from scheduling.selectors.customer_page import customer_page, letter_at
from scheduling.services.customer_answers import answer_visit, mark_by_link, say_task_done
from scheduling.views.desk_answers import pdf_answer
from scheduling.views.site_link import LOOKS, PAPERS, contacts_only
from sites.selectors.logbook import Guest

ACTS = (40, 3600)
PAGE = "site_logbook_visit"


def _page(request: HttpRequest, guest: Guest, form: OtherTimeForm, status: int) -> HttpResponse:
    page = customer_page(guest, timezone.now())
    shown = {"page": page, "guest": guest, "form": form}
    return render(request, "scheduling/customer_page.html", shown, status=status)


@require_GET
@contacts_only
def show(request: HttpRequest, guest: Guest) -> HttpResponse:
    """The next visit and what belongs to it."""
    refuse_too_many("contact_look", str(guest.link.pk), *LOOKS)
    return _page(request, guest, OtherTimeForm(), 200)


def _count(guest: Guest) -> None:
    refuse_too_many("contact_act", str(guest.link.pk), *ACTS)


@require_POST
@contacts_only
def confirm(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """The promised time suits."""
    _count(guest)
    answer_visit(guest=guest, visit_id=pk, answer=Answer.CONFIRMED, words="", now=timezone.now())
    messages.success(request, "Thank you. Your appointment is confirmed.")
    return redirect(PAGE)


@require_POST
@contacts_only
def other_time(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """Another time is wished for."""
    _count(guest)
    form = OtherTimeForm(request.POST)
    if not form.is_valid():
        return _page(request, guest, form, 422)
    words = form.cleaned_data["words"]
    answer_visit(
        guest=guest, visit_id=pk, answer=Answer.OTHER_TIME, words=words, now=timezone.now()
    )
    messages.success(
        request, "We have your wish and will call or write. Until then the time above stands."
    )
    return redirect(PAGE)


@require_POST
@contacts_only
def prepared(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """Which items are done."""
    _count(guest)
    done = request.POST.getlist("done")
    many = mark_by_link(guest=guest, visit_id=pk, done=done, now=timezone.now())
    messages.success(request, f"Noted: {many} done.")
    return redirect(PAGE)


@require_POST
@contacts_only
def task_done(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """A task of the customer was done."""
    _count(guest)
    say_task_done(guest=guest, task_id=pk, now=timezone.now())
    messages.success(request, "Thank you. We look at it on our next visit.")
    return redirect(PAGE)


@require_POST
@contacts_only
def letter(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """The paper of a letter that went to this contact."""
    refuse_too_many("contact_paper", str(guest.link.pk), *PAPERS)
    notice = letter_at(guest, pk)
    return pdf_answer(bytes(notice.attachment or b""), f"letter-{pk}.pdf")
