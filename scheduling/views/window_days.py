"""Another number of days for one treatment, by the office."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import local_today
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.season import WindowDaysForm
from scheduling.services.window_days import set_window_days
from treatments.selectors.windows import window_for


@requires(Permission.BOOK_VISITS)
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the days and the reason, and date the renewals by them."""
    person = person_of(request)
    window, now = window_for(person, pk), timezone.now()
    place = window.zone.property
    page = FormPage(
        f"Days of {window.zone.name}",
        "Set the days",
        place.get_absolute_url(),
        "Set. What is due at the property is dated by it.",
        f"{window.sentence.capitalize()}. Never more than the label claims.",
    )
    return one_form(
        request,
        WindowDaysForm(posted(request), initial={"days": window.held_days}),
        page,
        lambda entered: set_window_days(
            property_id=place.pk,
            window_id=pk,
            by=person,
            today=local_today(person, now),
            now=now,
            **entered,
        ),
    )
