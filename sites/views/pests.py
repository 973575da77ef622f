"""The pests that labels name."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from sites.forms import PestForm
from sites.selectors.pests import pests
from sites.services.pests import register_pest


@requires(Permission.SEE_LABELS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List every pest with its group."""
    return render(request, "sites/pests.html", {"pests": pests()})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Enter a pest that a label names."""
    words = FormPage(
        "Add a pest",
        "Add the pest",
        reverse("pests"),
        "The pest is added; directions for use can name it now.",
    )
    return one_form(
        request,
        PestForm(posted(request)),
        words,
        lambda entered: register_pest(by=person_of(request), **entered),
    )
