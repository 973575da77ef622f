"""Entering labels: files, versions, directions, limits."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from sites.selectors.pests import pests
from treatments.forms.labels import (
    AttachForm,
    DirectionForm,
    ImportLabelForm,
    LimitForm,
    SupersedeForm,
    WithdrawForm,
)
from treatments.rules.label_entry import NewDirection, NewLimit
from treatments.selectors.label_copies import direction_as_entered
from treatments.selectors.label_pages import direction_row, limit_row, version_for
from treatments.services.label_files import attach_file
from treatments.services.label_import import import_label
from treatments.services.label_rows import (
    add_direction,
    add_limit,
    edit_direction,
    remove_direction,
    remove_limit,
)
from treatments.services.labels import supersede_label, withdraw_label

UNTIL = "A label changes until it is verified or used; after that the next version is entered."


def _files(request: HttpRequest) -> Any:
    return request.FILES if request.method == "POST" else None


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def from_file(request: HttpRequest) -> HttpResponse:
    """Enter a label from a file of our format."""
    words = FormPage(
        "Enter a label from a file", "Enter the label", reverse("labels"), "The label is entered."
    )
    form = ImportLabelForm(posted(request), _files(request))
    return one_form(
        request,
        form,
        words,
        lambda entered: import_label(raw=entered["file"].read(), by=person_of(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def attach(request: HttpRequest, pk: int) -> HttpResponse:
    """Attach the printed label or safety data sheet."""
    version = version_for(pk)
    words = FormPage(
        f"Attach a paper to {version}", "Attach", version.get_absolute_url(), "Attached.", UNTIL
    )
    return one_form(
        request,
        AttachForm(posted(request), _files(request)),
        words,
        lambda entered: attach_file(
            label_version_id=pk, kind=entered["kind"], upload=entered["file"], by=person_of(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def supersede(request: HttpRequest, pk: int) -> HttpResponse:
    """Copy a label to a draft of its next version."""
    version = version_for(pk)
    words = FormPage(
        f"Next version of {version}",
        "Copy to a draft",
        version.product.get_absolute_url(),
        "The draft is a copy; change what differs, then complete it.",
    )
    return one_form(
        request,
        SupersedeForm(posted(request)),
        words,
        lambda entered: supersede_label(label_version_id=pk, **entered, by=person_of(request)),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Say until when a label may be used."""
    version = version_for(pk)
    words = FormPage(
        f"Withdraw {version}", "Withdraw", version.get_absolute_url(), "Withdrawn.", danger=True
    )
    return one_form(
        request,
        WithdrawForm(posted(request)),
        words,
        lambda entered: withdraw_label(label_version_id=pk, **entered, by=person_of(request)),
    )


def _direction(entered: dict[str, Any]) -> NewDirection:
    lists = {name: tuple(entered[name]) for name in ("places", "methods", "pest_ids")}
    return NewDirection(**{**entered, **lists})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def direction_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one direction for use."""
    version = version_for(pk)
    words = FormPage(
        f"Add a direction to {version}",
        "Add",
        version.get_absolute_url(),
        "Added.",
        UNTIL,
        two=True,
    )
    form = DirectionForm(posted(request), pests=pests().values_list("pk", "common_name"))
    return one_form(
        request,
        form,
        words,
        lambda entered: add_direction(
            label_version_id=pk, direction=_direction(entered), by=person_of(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def direction_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write one direction for use anew."""
    use = direction_row(pk)
    words = FormPage(
        f"Change {use.title}",
        "Save",
        use.label_version.get_absolute_url(),
        "Saved.",
        UNTIL,
        two=True,
    )
    form = DirectionForm(
        posted(request),
        pests=pests().values_list("pk", "common_name"),
        initial=vars(direction_as_entered(use)),
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_direction(
            label_use_id=pk, direction=_direction(entered), by=person_of(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_POST
def direction_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a direction away."""
    version = direction_row(pk).label_version
    remove_direction(label_use_id=pk, by=person_of(request))
    return redirect(version)


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def limit_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one limit."""
    version = version_for(pk)
    words = FormPage(
        f"Add a limit to {version}", "Add", version.get_absolute_url(), "Added.", UNTIL, two=True
    )
    form = LimitForm(posted(request), titles=version.uses.values_list("title", flat=True))
    return one_form(
        request,
        form,
        words,
        lambda entered: add_limit(
            label_version_id=pk, limit=NewLimit(**entered), by=person_of(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_POST
def limit_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a limit away."""
    version = limit_row(pk).label_version
    remove_limit(label_limit_id=pk, by=person_of(request))
    return redirect(version)
