"""Entering labels: by hand, from a file, their papers and versions."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.labels import AttachForm, ImportLabelForm, LabelForm, SupersedeForm
from treatments.rules.label_entry import FACTS_WITH_PAGE, NewLabel
from treatments.selectors.label_pages import product_for, version_for
from treatments.services.label_files import attach_file
from treatments.services.label_import import import_label
from treatments.services.labels import edit_label, enter_label, supersede_label
from treatments.views.label_forms import label_form, new_form

UNTIL = "A label changes until it is verified or used; after that the next version is entered."
COPIED = "Copy what is printed, with its page; every text needs its page before it is verified."


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


def _facts(entered: dict[str, Any]) -> dict[str, Any]:
    """The facts of a label; the page of each by its name."""
    facts = {name: value for name, value in entered.items() if not name.startswith("page_")}
    pages = {name: entered[f"page_{name}"] for name in FACTS_WITH_PAGE}
    return facts | {"prohibited_methods": tuple(entered["prohibited_methods"]), "pages": pages}


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin a label of a product by hand: a draft until it is complete."""
    product = product_for(pk)
    words = FormPage(
        f"A label of {product.name}",
        "Begin the label",
        product.get_absolute_url(),
        "The label is begun. Enter its directions, limits and protective equipment.",
        source=COPIED,
        two=True,
    )
    return new_form(
        request,
        LabelForm(posted(request)),
        words,
        lambda entered: enter_label(
            label=NewLabel(product_id=pk, directions=(), **_facts(entered)),
            by=person_of(request),
            is_draft=True,
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the facts of a label."""
    version = version_for(pk)
    known = {name: getattr(version, name, None) for name in LabelForm.base_fields}
    known |= {f"page_{name}": version.pages.get(name, "") for name in FACTS_WITH_PAGE}
    words = FormPage(
        f"Change {version}", "Save", version.get_absolute_url(), "Saved.", UNTIL, two=True
    )
    return label_form(
        request,
        version,
        LabelForm(posted(request), initial=known),
        words,
        lambda entered: edit_label(
            label_version_id=pk,
            by=person_of(request),
            today=timezone.localdate(),
            **_facts(entered),
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def attach(request: HttpRequest, pk: int) -> HttpResponse:
    """Attach the printed label or safety data sheet."""
    version = version_for(pk)
    words = FormPage(
        f"Attach a paper to {version}", "Attach", version.get_absolute_url(), "Attached.", UNTIL
    )
    return label_form(
        request,
        version,
        AttachForm(posted(request), _files(request)),
        words,
        lambda entered: attach_file(
            label_version_id=pk,
            kind=entered["kind"],
            upload=entered["file"],
            by=person_of(request),
            today=timezone.localdate(),
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
        version.get_absolute_url(),
        "The draft is a copy; change what differs, then complete it.",
    )
    return new_form(
        request,
        SupersedeForm(posted(request)),
        words,
        lambda entered: supersede_label(label_version_id=pk, **entered, by=person_of(request)),
    )
