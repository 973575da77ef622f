"""Calendar feeds: read by a calendar program, made and taken back by the technician."""

from __future__ import annotations

from allauth.account.adapter import get_adapter
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import kept_private, open_to_all, person_of, refuse_too_many, requires
from accounts.permissions import Permission
from accounts.refusals import Refused
from accounts.selectors.feeds import feed_of, own_feed
from accounts.services.feeds import make_feed, note_read, take_feed_back
from scheduling.reports.calendar_feed import draw_feed
from scheduling.selectors.calendar_feeds import feed_events

WRONG, READS = (20, 600), (60, 600)
GONE = "There is no calendar at this address. Make a new one under My calendar.\n"
OFTEN = "This calendar was read too often. Wait ten minutes.\n"


@require_GET
@open_to_all("a calendar program has no account; the address's random token opens one feed")
@sensitive_variables("token")
def read(request: HttpRequest, token: str) -> HttpResponse:
    """The visits of one technician, street and time only."""
    feed, now = feed_of(token), timezone.now()
    try:
        if feed is None:
            refuse_too_many("feed_wrong", get_adapter().get_client_ip(request), *WRONG)
            return _said(GONE, 404)
        refuse_too_many("feed_read", str(feed.pk), *READS)
    except Refused:
        return _said(OFTEN, 429)
    note_read(feed=feed, now=now)
    content = draw_feed(f"Visits of {feed.person.full_name}", feed_events(feed.person, now))
    answer = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    kept_private(answer)
    return answer


def _said(words: str, status: int) -> HttpResponse:
    answer = HttpResponse(words, status=status, content_type="text/plain; charset=utf-8")
    kept_private(answer)
    return answer


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def own(request: HttpRequest) -> HttpResponse:
    """One's own feed; a new address is shown once, on the page that answers."""
    person, url = person_of(request), ""
    if request.method == "POST":
        path = reverse("feed", args=[make_feed(by=person, now=timezone.now())])
        url = f"{settings.BASE_URL.rstrip('/')}{path}"
    shown = {"feed": own_feed(person), "url": url}
    return render(request, "scheduling/feed.html", shown)


@requires(Permission.WORK_STOPS)
@require_POST
def end(request: HttpRequest) -> HttpResponse:
    """Take one's own feed back."""
    take_feed_back(by=person_of(request), now=timezone.now())
    return redirect("own_feed")
