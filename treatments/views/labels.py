"""The sheets of products and labels, to read and to take away."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from treatments.selectors.label_comparison import compared
from treatments.selectors.label_copies import label_document
from treatments.selectors.label_pages import (
    file_for,
    label_page,
    label_rows,
    product_page,
    version_for,
)
from treatments.selectors.recalls import still_held
from treatments.services.label_verification import verify_label
from treatments.services.labels import complete_label


@requires(Permission.SEE_LABELS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List every product with its labels."""
    return render(request, "treatments/labels.html", {"products": label_rows(timezone.localdate())})


@requires(Permission.SEE_LABELS)
@require_GET
def product(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one product with its ingredients and labels."""
    page = product_page(pk, timezone.localdate())
    return render(request, "treatments/product.html", {"page": page})


@requires(Permission.SEE_LABELS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one label with the page of every fact."""
    page = label_page(pk, timezone.localdate())
    held = still_held(person_of(request), page.row.version, timezone.now())
    return render(request, "treatments/label.html", {"page": page, "held": held})


@requires(Permission.SEE_LABELS)
@require_GET
def comparison(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a label beside the one before it."""
    new, old, changes = compared(pk)
    changed = sum(change.kind != "same" for change in changes)
    shown = {"new": new, "old": old, "changes": changes, "changed": changed}
    return render(request, "treatments/label_compare.html", shown)


@requires(Permission.SEE_LABELS)
@require_GET
def document(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the label as a file of our format."""
    answer = JsonResponse(label_document(version_for(pk)), json_dumps_params={"indent": 2})
    answer["Content-Disposition"] = f'attachment; filename="label-{pk}.json"'
    return answer


@requires(Permission.SEE_LABELS)
@require_GET
def file(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Give the printed label or safety data sheet; never shown inside a page."""
    kept = file_for(pk, kind)
    answer = HttpResponse(bytes(kept.content), content_type="application/pdf")
    answer["Content-Disposition"] = f'attachment; filename="label-{pk}-{kept.kind}.pdf"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def verify(request: HttpRequest, pk: int) -> HttpResponse:
    """Show every fact with its page; a POST says that they agree with the paper."""
    if request.method == "POST":
        verify_label(label_version_id=pk, by=person_of(request), now=timezone.now())
        messages.success(request, "The label is verified.")
        return redirect("label", pk)
    page = label_page(pk, timezone.localdate())
    return render(request, "treatments/label.html", {"page": page, "verifying": True})


@requires(Permission.EDIT_LABELS)
@require_POST
def complete(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a draft in force from its first day."""
    complete_label(label_version_id=pk, by=person_of(request), today=timezone.localdate())
    messages.success(request, "The label is complete; a second person verifies it.")
    return redirect("label", pk)
