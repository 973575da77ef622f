"""The distance to water, measured by the technician at the stop."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from scheduling.forms.field import MeasuredWaterForm
from scheduling.selectors.today import own_visit, zone_of
from sites.services.water import measure_water_at_stop


@requires(Permission.WORK_STOPS)
@require_http_methods(["GET", "POST"])
def measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep the distance, then go back to the mix with its choices."""
    person = person_of(request)
    place = own_visit(person, pk).property
    today = timezone.now().astimezone(zone_of(person)).date()
    page = FormPage(
        f"Water near {place.street}",
        "Save the measurement",
        f"{reverse('mix', args=[pk])}?{request.GET.urlencode()}",
        "The measurement is saved.",
        "Measure on the ground, from the edge of what is treated. Look for slope and drains.",
    )
    return one_form(
        request,
        MeasuredWaterForm(posted(request)),
        page,
        lambda entered: measure_water_at_stop(place=place, by=person, today=today, **entered),
    )
