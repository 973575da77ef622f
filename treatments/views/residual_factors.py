"""The table of factors that shorten label claims."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.residual_factors import FactorForm
from treatments.selectors.residual_factors import factor_lines, first_values, ingredient_choices
from treatments.services.residual_factors import enter_factor


@requires(Permission.SEE_LABELS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """Every factor, what counts today first."""
    today = local_today(person_of(request), timezone.now())
    return render(request, "treatments/residual_factors.html", {"lines": factor_lines(today)})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Enter a factor from a day on; `instead` in the address fills in the row it replaces."""
    person = person_of(request)
    today = local_today(person, timezone.now())
    form = FactorForm(
        posted(request),
        initial=first_values(request.GET.get("instead", ""), today),
        ingredients=ingredient_choices(),
    )
    page = FormPage(
        "Enter a factor",
        "Enter the factor",
        reverse("residual_factors"),
        "It counts for treatments from its day on. Windows that are open stay as they are.",
        "A row with the same ingredient, formulation, surface, exposure and months ends that day.",
        two=True,
    )
    return one_form(request, form, page, lambda entered: enter_factor(by=person, **entered))
