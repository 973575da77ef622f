"""The site logbook of a property, kept by the office."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.training import a_year_after
from accounts.selectors.pages import local_day
from accounts.services.contact_links import take_link_back
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved
from scheduling.forms.logbook import ActionForm, LinkForm, PlanForm, ReviewForm, StepForm
from scheduling.reports.logbook_pdf import draw_logbook
from scheduling.selectors.site_logbook import logbook_of
from scheduling.selectors.site_logbook_pages import office_logbook
from scheduling.views.desk_answers import pdf_answer
from sites.selectors.choices import contact_choices
from sites.selectors.logbook import action_for, place_of_link
from sites.selectors.properties import property_for
from sites.services.logbook import ask_action, note_review, note_step, write_plan
from sites.services.site_links import give_logbook_link, make_code, take_code_back

LINK_DAYS = timedelta(days=180)


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything in the logbook, and what the office does with it."""
    page = office_logbook(person_of(request), pk, timezone.now())
    return render(request, "scheduling/logbook.html", {"page": page, "book": page.book})


@requires(Permission.SEE_CUSTOMERS)
@require_GET
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The logbook on paper."""
    book = logbook_of(property_for(person_of(request), pk), timezone.now())
    return pdf_answer(draw_logbook(book), f"logbook-{pk}.pdf")


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Write another version of the plan, beginning with the last one."""
    asking, now = person_of(request), timezone.now()
    place = property_for(asking, pk)
    book = logbook_of(place, now)
    initial = {
        "text": book.plan.text if book.plan else "",
        "written_by": asking.full_name,
        "written_on": book.as_of.date(),
    }
    return one_form(
        request,
        PlanForm(posted(request), initial=initial),
        _page(pk, f"Pest management plan of {place.street}", "Keep this version"),
        lambda entered: write_plan(property_id=pk, **entered, by=asking, now=now),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def review(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a yearly review."""
    asking, now = person_of(request), timezone.now()
    place = property_for(asking, pk)
    today = local_day(place.branch.time_zone, now)
    initial = {"reviewed_on": today, "next_due": a_year_after(today)}
    return one_form(
        request,
        ReviewForm(posted(request), initial=initial),
        _page(pk, f"Yearly review of {place.street}", "Keep the review"),
        lambda entered: note_review(property_id=pk, **entered, by=asking, now=now),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def action(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what must be put right."""
    asking, now = person_of(request), timezone.now()
    place = property_for(asking, pk)
    initial = {"asked_on": local_day(place.branch.time_zone, now)}
    return one_form(
        request,
        ActionForm(posted(request), initial=initial),
        _page(pk, f"Corrective action at {place.street}", "Ask for it"),
        lambda entered: ask_action(property_id=pk, **entered, by=asking, now=now),
    )


@requires(Permission.EDIT_PROPERTIES)
@require_http_methods(["GET", "POST"])
def step(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what was done about a corrective action."""
    asking, now = person_of(request), timezone.now()
    asked = action_for(asking, pk)
    today = local_day(asked.property.branch.time_zone, now)
    return one_form(
        request,
        StepForm(posted(request), initial={"done_on": today, "is_done": True}),
        _page(asked.property_id, asked.what, "Note it", source=f"{asked.property}, {asked.spot}."),
        lambda entered: note_step(action_id=pk, **entered, by=asking, now=now),
    )


@requires(Permission.EDIT_CUSTOMERS)
@require_http_methods(["GET", "POST"])
def link(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Make a link for a contact; it is shown once, on the page that answers."""
    asking, now = person_of(request), timezone.now()
    place = property_for(asking, pk)
    today = local_day(place.branch.time_zone, now)
    form = LinkForm(
        posted(request),
        contacts=contact_choices(place.customer_id),
        initial={"last_day": today + LINK_DAYS},
    )
    made: list[Any] = []

    def save(entered: dict[str, Any]) -> None:
        made.append(
            give_logbook_link(
                property_id=pk,
                contact_id=entered["contact"],
                last_day=entered["last_day"],
                by=asking,
                now=now,
            )
        )

    if form.is_bound and saved(form, save):
        url = reverse("site_logbook_enter", args=[made[0].token])
        shown = {"place": place, "given": made[0], "url": f"{settings.BASE_URL.rstrip('/')}{url}"}
        return render(request, "scheduling/logbook_link.html", shown)
    words = _page(pk, f"Link to the logbook of {place.street}", "Make the link")
    return form_page(request, form, words)


@requires(Permission.EDIT_CUSTOMERS)
@require_POST
def link_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a link back."""
    asking = person_of(request)
    _, place = place_of_link(asking, pk)
    take_link_back(link_id=pk, by=asking, now=timezone.now())
    return redirect("property_logbook", place.pk)


@requires(Permission.EDIT_PROPERTIES)
@require_POST
def code(request: HttpRequest, pk: int) -> HttpResponse:
    """Make another code; the one before ends."""
    make_code(property_id=pk, by=person_of(request), now=timezone.now())
    return redirect("property_logbook", pk)


@requires(Permission.EDIT_PROPERTIES)
@require_POST
def code_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the code back."""
    take_code_back(property_id=pk, by=person_of(request), now=timezone.now())
    return redirect("property_logbook", pk)


def _page(pk: int, heading: str, act: str, *, source: str = "") -> FormPage:
    back = reverse("property_logbook", args=[pk])
    return FormPage(heading, act, back, "It stands in the logbook.", source=source)
