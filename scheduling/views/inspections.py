"""Inspecting: what was found at a property, one round, its report, a photo."""

from __future__ import annotations

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import kept_private, person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import posted, saved
from scheduling.forms.inspections import BeginForm, RoundForm
from scheduling.selectors.inspections import RoundPage, found_page, round_page
from scheduling.selectors.reach import place_in_reach, reachable
from scheduling.services.inspecting import inspect_at_stop, inspect_property, report_inspection
from sites.rules.checkpoints import Side
from sites.selectors.inspections import report_for
from sites.selectors.photos import photo_for
from sites.services.inspections import answer_checkpoints, end_inspection


def today_of(request: HttpRequest) -> date:
    """The day at the branch of who asks."""
    return local_today(person_of(request), timezone.now())


@requires(Permission.WORK_STOPS)
@require_POST
def at_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin the round of a stop, or go on with it."""
    return redirect(inspect_at_stop(visit_id=pk, by=person_of(request), now=timezone.now()))


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def of_property(request: HttpRequest, pk: int) -> HttpResponse:
    """What was found at a property over the years; a post begins a round."""
    person, today = person_of(request), today_of(request)
    place = place_in_reach(person, pk, today)
    form = BeginForm(posted(request))
    made: list[Any] = []

    def begin(entered: dict[str, Any]) -> None:
        now, ref = timezone.now(), entered["client_ref"]
        made.append(
            inspect_property(property_id=pk, client_ref=ref, by=person, now=now, today=today)
        )

    if form.is_bound and saved(form, begin):
        return redirect(made[0])
    page = found_page(person, place, today)
    shown = {"page": page, "place": place, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/inspections.html", shown, status=status)


@requires(Permission.INSPECT)
@require_http_methods(["GET", "POST"])
def one_round(request: HttpRequest, pk: int) -> HttpResponse:
    """The checklist of one inspection: answers, findings, the end of it."""
    page = round_page(person_of(request), pk, today_of(request))
    form = RoundForm(posted(request))
    if form.is_bound and saved(form, lambda entered: _answer(request, page, entered)):
        return redirect("inspection_round", pk)
    shown = {"page": page, "place": page.place, "form": form, "zone": _zone(page)}
    status = 422 if form.is_bound else 200
    return render(request, "scheduling/inspection_round.html", shown, status=status)


def _zone(page: RoundPage) -> ZoneInfo:
    return ZoneInfo(page.place.branch.time_zone)


def _answer(request: HttpRequest, page: RoundPage, entered: dict[str, Any]) -> None:
    by, pk, act = person_of(request), page.inspection.pk, request.POST.get("act", "")
    within = reachable(by, today_of(request))
    if act == "end":
        end_inspection(
            within=within, inspection_id=pk, words=entered["words"], by=by, now=timezone.now()
        )
        messages.success(request, "The inspection is ended and kept.")
        return
    ticked = _rest(page, act) or entered["checkpoints"]
    answer_checkpoints(within=within, inspection_id=pk, checkpoints=ticked, by=by)


def _rest(page: RoundPage, act: str) -> list[str]:
    """Every checkpoint of a side that has no answer yet, when its button was pressed."""
    if act not in list(Side):
        return []
    side = next(one for one in page.sides if one.side == act)
    return [row.point.code for row in side.rows if not row.is_answered]


@requires(Permission.INSPECT)
@require_POST
def make_report(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the report of an ended inspection and show it."""
    report = report_inspection(
        inspection_id=pk,
        by=person_of(request),
        now=timezone.now(),
        today=today_of(request),
        demo=settings.DEMO,
    )
    return redirect(report)


@requires(Permission.INSPECT)
@require_GET
def report(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept report as it was made."""
    kept = report_for(reachable(person_of(request), today_of(request)), pk)
    name = f'inline; filename="inspection-{kept.inspection_id}-{kept.pk}.pdf"'
    return HttpResponse(
        bytes(kept.content),
        content_type="application/pdf",
        headers={"Content-Disposition": name},
    )


@requires(Permission.INSPECT)
@require_GET
def photo(request: HttpRequest, pk: int) -> HttpResponseBase:
    """A photo; one that cannot be decoded only as an attachment, and only for a manager."""
    person = person_of(request)
    kept = photo_for(person, reachable(person, today_of(request)), pk)
    shown = "attachment" if kept.is_sealed else "inline"
    ending = "bin" if kept.is_sealed else "jpg"
    headers = {
        "Content-Disposition": f'{shown}; filename="photo-{kept.pk}.{ending}"',
        "X-Content-Type-Options": "nosniff",
    }
    return kept_private(
        HttpResponse(bytes(kept.content), content_type=kept.content_type, headers=headers)
    )
