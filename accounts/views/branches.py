"""The shops of the firm."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.forms import BranchForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.rules.phones import readable
from accounts.selectors.pages import branch_rows
from accounts.selectors.people import branch_for
from accounts.services.branches import edit_branch, open_branch
from accounts.views.one_form import FormPage, one_form, posted


@requires(Permission.EDIT_BRANCHES)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List the shops."""
    return render(request, "accounts/branches.html", {"rows": branch_rows(person_of(request))})


@requires(Permission.EDIT_BRANCHES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Open a shop."""
    asking = person_of(request)
    known = {"time_zone": asking.branch.time_zone, "state": asking.branch.state}
    words = FormPage(
        "Open a branch",
        "Open the branch",
        reverse("branches"),
        "The branch is open.",
        source="It has its own log, time zone, phone on notices and business license.",
        two=True,
    )
    form = BranchForm(posted(request), initial=known)
    return one_form(request, form, words, lambda entered: open_branch(**entered, by=asking))


@requires(Permission.EDIT_BRANCHES)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a shop."""
    asking = person_of(request)
    branch = branch_for(asking, pk)
    known = {name: getattr(branch, name) for name in BranchForm.base_fields}
    known |= {name: readable(known[name]) for name in ("phone", "after_hours_phone")}
    words = FormPage(
        f"Change {branch.name}",
        "Save the branch",
        reverse("branches"),
        "The branch is changed.",
        two=True,
    )
    return one_form(
        request,
        BranchForm(posted(request), initial=known),
        words,
        lambda entered: edit_branch(branch_id=pk, **entered, by=asking),
    )
