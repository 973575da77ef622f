"""The inspection desk of the manager: a question, the answer, and what is handed over."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.audit import events_about
from accounts.selectors.inspectors import inspector_visits_for
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for
from accounts.services.audit import name_of
from accounts.services.inspectors import receive_inspector, revoke_inspector
from accounts.views.one_form import posted, saved
from scheduling.forms.desk import InspectorForm
from scheduling.views.desk_answers import (
    Desk,
    bundle_file,
    desk_page,
    label_file,
    notice_file,
    paper_file,
)
from treatments.rules.desk import HANDED_OVER_KIND
from treatments.selectors.desk import made_at
from treatments.services.hand_over import To


def _desk(request: HttpRequest) -> Desk:
    """The desk of the branch that is asked about, the manager's own unless another is chosen."""
    asked = request.GET.get("branch", "")
    is_number = asked.isascii() and asked.isdecimal() and len(asked) < 10
    return _desk_at(request, int(asked) if is_number else None)


def _desk_at(request: HttpRequest, key: int | None) -> Desk:
    person = person_of(request)
    branches = branches_for(person)
    branch = get_object_or_404(branches, pk=key) if key is not None else person.branch
    return Desk(
        to=To(branch, by=person),
        urls={name: reverse(f"desk_{name}") for name in ("paper", "bundle")},
        made=made_at(branch.pk),
        branches=tuple(branches.values_list("pk", "name")),
    )


@requires(Permission.RECEIVE_INSPECTORS)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """The question and everything about it on one page."""
    return desk_page(request, _desk(request))


@requires(Permission.RECEIVE_INSPECTORS)
@require_POST
def paper(request: HttpRequest) -> HttpResponseBase:
    """The answer on paper; that it was handed over is logged."""
    return paper_file(request, _desk(request))


@requires(Permission.RECEIVE_INSPECTORS)
@require_POST
def bundle(request: HttpRequest) -> HttpResponseBase:
    """The bundle of the same question; that it was handed over is logged."""
    return bundle_file(request, _desk(request))


@requires(Permission.RECEIVE_INSPECTORS)
@require_POST
def label(request: HttpRequest, branch: int, pk: int, kind: str) -> HttpResponseBase:
    """A label or safety data sheet of the branch; that it was handed over is logged."""
    return label_file(_desk_at(request, branch), pk, kind)


@requires(Permission.RECEIVE_INSPECTORS)
@require_POST
def notice(request: HttpRequest, branch: int, pk: int) -> HttpResponseBase:
    """The notice of a visit; that it was handed over is logged."""
    return notice_file(_desk_at(request, branch), pk)


@requires(Permission.RECEIVE_INSPECTORS)
@require_http_methods(["GET", "POST"])
def visits(request: HttpRequest) -> HttpResponse:
    """Who inspects, a link for somebody new, and what was handed over."""
    person = person_of(request)
    branches = list(branches_for(person))
    form = InspectorForm(
        posted(request),
        branches=[(one.pk, one.name) for one in branches],
        initial={"branch": person.branch_id},
    )
    made: list[Any] = []

    def save(entered: dict[str, Any]) -> None:
        made.append(
            receive_inspector(
                branch_id=entered["branch"],
                inspector_name=entered["inspector_name"],
                agency=entered["agency"],
                by=person,
                now=timezone.now(),
            )
        )

    is_refused = form.is_bound and not saved(form, save)
    handed = events_about([name_of(one) for one in branches], [HANDED_OVER_KIND])
    shown = {
        "form": form,
        "received": made[0] if made else None,
        "visits": inspector_visits_for(person)[:50],
        "names": {name_of(one): one.name for one in branches},
        "page": page_of(handed, request.GET.get("page")),
        "now": timezone.now(),
    }
    return render(request, "scheduling/desk_visits.html", shown, status=422 if is_refused else 200)


@requires(Permission.RECEIVE_INSPECTORS)
@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """End a visit now."""
    visit = revoke_inspector(visit_id=pk, by=person_of(request), now=timezone.now())
    messages.success(request, f"The desk is shut for {visit}.")
    return redirect("desk_visits")
