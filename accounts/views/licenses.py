"""Licenses of a person."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods

from accounts.forms import LicenseForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.selectors.pages import supervisor_choices
from accounts.selectors.people import license_for, person_for
from accounts.services.licenses import add_license, edit_license
from accounts.views.one_form import FormPage, one_form, posted


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a license of a person."""
    asking = person_of(request)
    person = person_for(asking, pk)
    form = LicenseForm(
        posted(request),
        people=supervisor_choices(asking, pk),
        initial={"state": person.branch.state},
    )
    words = FormPage(
        f"Add a license of {person.full_name}",
        "Add the license",
        person.get_absolute_url(),
        "The license is added.",
        source="A renewed license is added as a new term; the old one stays for its records.",
        two=True,
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: add_license(person_id=pk, **_license(entered), by=asking),
    )


@requires(Permission.EDIT_LICENSES)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a license that was entered wrong."""
    asking = person_of(request)
    license = license_for(asking, pk)
    known = {name: getattr(license, name) for name in LicenseForm.base_fields}
    form = LicenseForm(
        posted(request),
        people=supervisor_choices(asking, license.person_id),
        initial=known | {"supervisor": license.supervisor_id},
    )
    words = FormPage(
        f"Change license {license}",
        "Save the license",
        license.person.get_absolute_url(),
        "The license is changed.",
        source="Records made under it keep the values they were made with.",
        two=True,
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_license(license_id=pk, **_license(entered), by=asking),
    )


def _license(entered: dict[str, Any]) -> dict[str, Any]:
    rest = {name: value for name, value in entered.items() if name != "supervisor"}
    return {**rest, "supervisor_id": entered["supervisor"]}
