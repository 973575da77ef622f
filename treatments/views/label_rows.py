"""The rows of a label: directions for use, limits, protective equipment."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, posted
from sites.selectors.pests import pests
from treatments.forms.labels import DirectionForm, FillTurnForm, LimitForm, ProtectionForm
from treatments.rules.label_entry import NewDirection, NewLimit, NewPest, NewProtection
from treatments.rules.products import Comparison, LimitFact, Severity
from treatments.selectors.label_copies import direction_as_entered, limit_as_entered
from treatments.selectors.label_pages import (
    direction_row,
    limit_row,
    protection_row,
    version_for,
)
from treatments.services.label_rows import (
    add_direction,
    add_limit,
    add_protection,
    edit_direction,
    edit_limit,
    edit_protection,
    remove_direction,
    remove_limit,
    remove_protection,
)
from treatments.views.label_entry import UNTIL
from treatments.views.label_forms import label_form

if TYPE_CHECKING:
    from treatments.models import LabelLimit, LabelVersion


def _adding(version: LabelVersion, what: str) -> FormPage:
    return FormPage(
        f"Add {what} to {version}", "Add", version.get_absolute_url(), "Added.", UNTIL, two=True
    )


def _changing(version: LabelVersion, what: str) -> FormPage:
    return FormPage(f"Change {what}", "Save", version.get_absolute_url(), "Saved.", UNTIL, two=True)


def _who(request: HttpRequest) -> dict[str, Any]:
    return {"by": person_of(request), "today": timezone.localdate()}


def _direction_form(
    request: HttpRequest, version: LabelVersion, known: NewDirection | None = None
) -> DirectionForm:
    return DirectionForm(
        posted(request),
        pests=pests().values_list("pk", "common_name"),
        formulation=version.product.formulation,
        initial=vars(known) if known else None,
    )


def _direction(entered: dict[str, Any]) -> dict[str, Any]:
    """The direction, and the pest that is not in the list yet."""
    lists = {name: tuple(entered[name]) for name in ("places", "methods", "pest_ids")}
    facts = {**entered, **lists}
    new_pest = NewPest(facts.pop("new_pest"), facts.pop("new_pest_group"))
    return {"direction": NewDirection(**facts), "new_pest": new_pest}


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def direction_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one direction for use."""
    version = version_for(pk)
    return label_form(
        request,
        version,
        _direction_form(request, version),
        _adding(version, "a direction"),
        lambda entered: add_direction(label_version_id=pk, **_direction(entered), **_who(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def direction_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write one direction for use anew."""
    use = direction_row(pk)
    return label_form(
        request,
        use.label_version,
        _direction_form(request, use.label_version, direction_as_entered(use)),
        _changing(use.label_version, use.title),
        lambda entered: edit_direction(label_use_id=pk, **_direction(entered), **_who(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_POST
def direction_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a direction away."""
    version = direction_row(pk).label_version
    remove_direction(label_use_id=pk, **_who(request))
    return redirect(version)


def _limit_form(
    request: HttpRequest, version: LabelVersion, known: NewLimit | None = None
) -> LimitForm:
    return LimitForm(
        posted(request),
        titles=version.uses.values_list("title", flat=True),
        formulation=version.product.formulation,
        initial=vars(known) if known else None,
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def limit_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one limit."""
    version = version_for(pk)
    return label_form(
        request,
        version,
        _limit_form(request, version),
        _adding(version, "a limit"),
        lambda entered: add_limit(label_version_id=pk, limit=NewLimit(**entered), **_who(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def limit_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write one limit anew."""
    row = limit_row(pk)
    if row.fact == LimitFact.FILL_TURN:
        return _turn_edit(request, row)
    return label_form(
        request,
        row.label_version,
        _limit_form(request, row.label_version, limit_as_entered(row)),
        _changing(row.label_version, f"a limit of {row.label_version}"),
        lambda entered: edit_limit(label_limit_id=pk, limit=NewLimit(**entered), **_who(request)),
    )


def _turn_form(
    request: HttpRequest, version: LabelVersion, known: NewLimit | None = None
) -> FillTurnForm:
    titles = version.uses.values_list("title", flat=True)
    shown = {**vars(known), "limit": f"{known.limit:.0f}"} if known else None
    return FillTurnForm(posted(request), titles=titles, initial=shown)


def _turn(entered: dict[str, Any]) -> NewLimit:
    """A turn orders the filling and stops nobody."""
    facts = entered | {"limit": Decimal(entered["limit"])}
    return NewLimit(LimitFact.FILL_TURN, Comparison.AT_MOST, severity=Severity.NOTE, **facts)


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def turn_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter the label's own turn in the order of filling."""
    version = version_for(pk)
    return label_form(
        request,
        version,
        _turn_form(request, version),
        _adding(version, "its turn in the order of filling"),
        lambda entered: add_limit(label_version_id=pk, limit=_turn(entered), **_who(request)),
    )


def _turn_edit(request: HttpRequest, row: LabelLimit) -> HttpResponse:
    return label_form(
        request,
        row.label_version,
        _turn_form(request, row.label_version, limit_as_entered(row)),
        _changing(row.label_version, f"the turn of {row.label_version} in the order of filling"),
        lambda entered: edit_limit(label_limit_id=row.pk, limit=_turn(entered), **_who(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_POST
def limit_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a limit away."""
    version = limit_row(pk).label_version
    remove_limit(label_limit_id=pk, **_who(request))
    return redirect(version)


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def protection_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one piece of protective equipment."""
    version = version_for(pk)
    return label_form(
        request,
        version,
        ProtectionForm(posted(request)),
        _adding(version, "protective equipment"),
        lambda entered: add_protection(
            label_version_id=pk, protection=_protection(entered), **_who(request)
        ),
    )


def _protection(entered: dict[str, Any]) -> NewProtection:
    return NewProtection(**entered | {"respirators": tuple(entered["respirators"])})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def protection_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write one piece of protective equipment anew."""
    row = protection_row(pk)
    known = {name: getattr(row, name) for name in ProtectionForm.base_fields}
    return label_form(
        request,
        row.label_version,
        ProtectionForm(posted(request), initial=known),
        _changing(row.label_version, str(row)),
        lambda entered: edit_protection(
            label_protection_id=pk, protection=_protection(entered), **_who(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_POST
def protection_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one piece of protective equipment away."""
    version = protection_row(pk).label_version
    remove_protection(label_protection_id=pk, **_who(request))
    return redirect(version)
