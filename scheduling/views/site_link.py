"""The logbook as a contact of the customer reads it: opened by a link, without an account."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from allauth.account.adapter import get_adapter
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import guests_only, kept_private, open_to_all, refuse_too_many
from accounts.refusals import Refused
from accounts.selectors.pages import local_day
from accounts.services.audit import note_event
from accounts.services.contact_links import note_opened
from accounts.views.one_form import posted, saved
from scheduling.forms.logbook import CodeSightingForm, SightingForm
from scheduling.reports.logbook_pdf import draw_logbook
from scheduling.rules.site_logbook import since
from scheduling.selectors.notices import notice_of
from scheduling.selectors.site_logbook import logbook_of, worked_visit_at
from scheduling.selectors.site_logbook_pages import trend_drawing
from scheduling.services.sweep import firm_day
from scheduling.views.desk_answers import pdf_answer
from sites.rules.sightings import NewSighting, Way
from sites.rules.site_codes import typed
from sites.selectors.logbook import Guest, guest_of, opened_by, property_of_code
from sites.services.sightings import tell_sighting
from treatments.reports.notice import draw_notice
from treatments.selectors.site_logbook import label_paper_at

if TYPE_CHECKING:
    from sites.models import Property

LINK_KEY = "contact_link"
WRONG_LINKS = (20, 600)
LOOKS = (120, 600)
PAPERS = (30, 600)
CODES = (10, 600)
TOLD = (30, 3600)
NO_CODE = "No logbook has this code. Read it again, or call the firm."
AGAIN = "This form was sent before; it counts once. Open a new one to tell of another sighting."
NOTED = "It is noted. The firm answers in the logbook."


def _gone(request: HttpRequest) -> HttpResponseBase:
    """One answer for a link that is over, taken back, somebody else's, or was never made."""
    return kept_private(render(request, "scheduling/link_gone.html", status=404))


contacts_only = guests_only(
    LINK_KEY,
    guest_of,
    _gone,
    "a customer's contact has no account; a link of one property opened the session",
)


@require_http_methods(["GET", "POST"])
@open_to_all("a customer's contact has no account; the link's random token opens the logbook")
@sensitive_variables("token")
def enter(request: HttpRequest, token: str) -> HttpResponseBase:
    """Say what the link opens, and open it; whoever was signed in here is signed out."""
    guest = opened_by(token, timezone.now())
    if guest is None:
        return _wrong(request)
    if request.method == "GET":
        return kept_private(render(request, "scheduling/link_enter.html", {"guest": guest}))
    note_opened(link=guest.link, now=timezone.now())
    request.session.flush()
    request.session[LINK_KEY] = guest.link.pk
    # a letter about a visit opens the visit
    page = "site_logbook" if guest.link.made_for_id is None else "site_logbook_visit"
    return kept_private(redirect(page))


def _wrong(request: HttpRequest) -> HttpResponseBase:
    """Counted, and shown here, so that no line of the log names the link."""
    try:
        refuse_too_many("contact_link", get_adapter().get_client_ip(request), *WRONG_LINKS)
    except Refused as refused:
        shown = {"refused": refused}
        return kept_private(render(request, "refused.html", shown, status=429))
    return _gone(request)


@require_GET
@contacts_only
def show(request: HttpRequest, guest: Guest) -> HttpResponse:
    """The logbook."""
    refuse_too_many("contact_look", str(guest.link.pk), *LOOKS)
    book = logbook_of(guest.place, timezone.now())
    shown = {"book": book, "guest": guest, "drawing": trend_drawing(book.trend)}
    return render(request, "scheduling/logbook_guest.html", shown)


@require_POST
@contacts_only
def paper(request: HttpRequest, guest: Guest) -> HttpResponse:
    """The logbook on paper."""
    _count_paper(guest, "logbook")
    book = logbook_of(guest.place, timezone.now())
    return pdf_answer(draw_logbook(book), "logbook.pdf")


@require_POST
@contacts_only
def label(request: HttpRequest, guest: Guest, pk: int, kind: str) -> HttpResponse:
    """A label or safety data sheet of a product used at the property."""
    today = local_day(guest.branch.time_zone, timezone.now())
    kept = label_paper_at(guest.place.pk, since(today), pk, kind)
    _count_paper(guest, f"{kept.kind} of label {pk}")
    return pdf_answer(bytes(kept.content), f"label-{pk}-{kept.kind}.pdf")


@require_POST
@contacts_only
def notice(request: HttpRequest, guest: Guest, pk: int) -> HttpResponse:
    """The notice of a visit at the property."""
    today = local_day(guest.branch.time_zone, timezone.now())
    visit = worked_visit_at(guest.place, pk, today)
    _count_paper(guest, f"notice of visit {pk}")
    return pdf_answer(draw_notice(notice_of(visit, demo=settings.DEMO)), f"notice-{pk}.pdf")


def _count_paper(guest: Guest, what: str) -> None:
    refuse_too_many("contact_paper", str(guest.link.pk), *PAPERS)
    note_event(by=str(guest.link), act="contact_paper", thing=guest.link, what=what)


@require_http_methods(["GET", "POST"])
@contacts_only
def tell(request: HttpRequest, guest: Guest) -> HttpResponse:
    """Tell of a sighting."""
    form = SightingForm(posted(request), initial=_begun(guest.place))

    def save(entered: dict[str, Any]) -> None:
        said = _told(guest.place, entered, Way.LINK, str(guest.link))
        messages.success(request, said)

    if form.is_bound and saved(form, save):
        return redirect("site_logbook")
    status = 422 if form.is_bound else 200
    shown = {"form": form, "guest": guest}
    return render(request, "scheduling/sighting_tell.html", shown, status=status)


@require_POST
@contacts_only
def leave(request: HttpRequest, guest: Guest) -> HttpResponse:
    """End the session; the link opens again until it is over."""
    request.session.flush()
    return render(request, "scheduling/link_left.html")


@require_http_methods(["GET", "POST"])
@open_to_all("who works at a property has no account; the code in its logbook names it")
def by_code(request: HttpRequest) -> HttpResponseBase:
    """Tell of a sighting by the code that stands in the logbook."""
    initial = {"once": uuid.uuid4(), "seen_on": firm_day(timezone.now())}
    form = CodeSightingForm(posted(request), initial=initial)
    said: list[str] = []

    def save(entered: dict[str, Any]) -> None:
        refuse_too_many("site_code", get_adapter().get_client_ip(request), *CODES)
        place = property_of_code(typed(entered.pop("code")))
        if place is None:
            raise Refused("site_code", NO_CODE, field="code")
        said.append(_told(place, entered, Way.CODE, f"the code of property {place.pk}"))

    is_saved = form.is_bound and saved(form, save)
    shown = {"form": form, "said": said[0] if is_saved else ""}
    status = 422 if form.is_bound and not is_saved else 200
    return kept_private(render(request, "scheduling/sighting_code.html", shown, status=status))


def _begun(place: Property) -> dict[str, Any]:
    today = local_day(place.branch.time_zone, timezone.now())
    return {"once": uuid.uuid4(), "seen_on": today}


def _told(place: Property, entered: dict[str, Any], way: Way, who: str) -> str:
    """Store the sighting; what to say about it."""
    refuse_too_many("sighting", str(place.pk), *TOLD)
    told = tell_sighting(
        place=place, new=NewSighting(**entered), way=way, who=who, now=timezone.now()
    )
    return AGAIN if told.is_again else NOTED
