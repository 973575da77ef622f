"""Which rate of a direction is proposed."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.labels import FirmRateForm
from treatments.selectors.label_pages import direction_row
from treatments.selectors.labels import firm_rate_of
from treatments.services.firm_rates import choose_firm_rate


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def choose(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose the low or the middle rate; the label itself stays as it is."""
    use = direction_row(pk)
    page = FormPage(
        f"Rate proposed for {use.title}",
        "Save",
        use.label_version.get_absolute_url(),
        "Saved.",
        "The firm's own choice: it changes what a mix proposes, never the label.",
    )
    form = FirmRateForm(posted(request), initial={"choice": firm_rate_of(use)})
    return one_form(
        request,
        form,
        page,
        lambda entered: choose_firm_rate(label_use_id=pk, by=person_of(request), **entered),
    )
