"""The inspector's own desk: entered by a link that works once, for one branch, until midnight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from allauth.account.adapter import get_adapter
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import (
    VISIT_KEY,
    inspectors_only,
    kept_private,
    open_to_all,
    refuse_too_many,
)
from accounts.refusals import Refused
from accounts.selectors.inspectors import unopened_visit
from accounts.services.audit import note_event
from accounts.services.inspectors import NO_LINK, enter_desk
from scheduling.views.desk_answers import (
    Desk,
    bundle_file,
    desk_page,
    label_file,
    notice_file,
    paper_file,
)
from treatments.selectors.desk import made_at
from treatments.services.hand_over import To

if TYPE_CHECKING:
    from accounts.models import InspectorVisit

WRONG_LINKS = (20, 600)
PAPERS = (60, 600)
LOOKS = (300, 600)


@require_http_methods(["GET", "POST"])
@open_to_all("an inspector has no account; the link's random token is what opens the desk")
@sensitive_variables("token")
def enter(request: HttpRequest, token: str) -> HttpResponseBase:
    """Say what the link opens, and open it once; whoever was signed in here is signed out."""
    try:
        return kept_private(_entered(request, token))
    except Refused as refused:  # shown here, so that no line of the log names the link
        status = 429 if refused.code == "too_many" else 422
        return kept_private(render(request, "refused.html", {"refused": refused}, status=status))


def _entered(request: HttpRequest, token: str) -> HttpResponse:
    now = timezone.now()
    visit = unopened_visit(token, now)
    if visit is None:
        refuse_too_many("inspection_link", get_adapter().get_client_ip(request), *WRONG_LINKS)
        raise Refused("inspection_link", NO_LINK)
    if request.method == "GET":
        return render(request, "scheduling/inspection_enter.html", {"visit": visit})
    visit = enter_desk(token=token, now=now)
    request.session.flush()
    request.session[VISIT_KEY] = visit.pk
    request.session.set_expiry(visit.ends_at)
    return redirect("inspection")


def _desk(visit: InspectorVisit) -> Desk:
    urls = {name: reverse(f"inspection_{name}") for name in ("paper", "bundle")}
    return Desk(to=To(visit.branch, visit=visit), urls=urls, made=made_at(visit.branch_id))


@require_GET
@inspectors_only
def show(request: HttpRequest, visit: InspectorVisit) -> HttpResponse:
    """The question and everything about it; each look is noted."""
    refuse_too_many("inspection_look", str(visit.pk), *LOOKS)
    answer = desk_page(request, _desk(visit))
    note_event(
        by=str(visit),
        act="desk_viewed",
        thing=visit,
        asked={_kept(name): _kept(str(value)) for name, value in request.GET.items() if value},
        status=answer.status_code,
    )
    return answer


def _kept(text: str) -> str:
    """The beginning of what was typed; PostgreSQL keeps no zero byte."""
    return text[:200].replace("\x00", "\ufffd")


@require_POST
@inspectors_only
def paper(request: HttpRequest, visit: InspectorVisit) -> HttpResponseBase:
    """The answer on paper."""
    refuse_too_many("inspection_paper", str(visit.pk), *PAPERS)
    return paper_file(request, _desk(visit))


@require_POST
@inspectors_only
def bundle(request: HttpRequest, visit: InspectorVisit) -> HttpResponseBase:
    """The bundle of the same question."""
    refuse_too_many("inspection_paper", str(visit.pk), *PAPERS)
    return bundle_file(request, _desk(visit))


@require_POST
@inspectors_only
def label(request: HttpRequest, visit: InspectorVisit, pk: int, kind: str) -> HttpResponseBase:
    """A label or safety data sheet that the branch used or bought."""
    refuse_too_many("inspection_paper", str(visit.pk), *PAPERS)
    return label_file(_desk(visit), pk, kind)


@require_POST
@inspectors_only
def notice(request: HttpRequest, visit: InspectorVisit, pk: int) -> HttpResponseBase:
    """The notice of a visit with records of the branch."""
    refuse_too_many("inspection_paper", str(visit.pk), *PAPERS)
    return notice_file(_desk(visit), pk)


@require_POST
@inspectors_only
def leave(request: HttpRequest, visit: InspectorVisit) -> HttpResponseBase:
    """End the session; the link does not open again."""
    note_event(by=str(visit), act="inspector_left", thing=visit)
    request.session.flush()
    return redirect("account_login")
