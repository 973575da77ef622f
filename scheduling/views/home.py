"""Where a person lands after signing in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_GET

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from scheduling.selectors.pages import landing_page


@requires(Permission.SEE_OWN_PAGE)
@require_GET
def home(request: HttpRequest) -> HttpResponse:
    """Send the office and managers to the renewals, a technician to the day's stops."""
    return redirect(landing_page(person_of(request)))
