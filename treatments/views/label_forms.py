"""The form of a part of a label; a label that never changes offers its next version instead."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from accounts.views.one_form import FormPage, form_page, one_form, saved
from treatments.selectors.labels import LOCKED, SETTLED, is_product_settled, why_locked

if TYPE_CHECKING:
    from treatments.models import LabelVersion, Product

Saving = Callable[[dict[str, Any]], Any]


def label_form(
    request: HttpRequest, version: LabelVersion, form: forms.Form, page: FormPage, save: Saving
) -> HttpResponse:
    """The form's page while the label may change, else why it does not and what to do."""
    why = why_locked(version, timezone.localdate())
    if why:
        return _locked(request, {"sentence": LOCKED[why], "version": version, "page": page})
    return one_form(request, form, page, save)


def product_form(
    request: HttpRequest, product: Product, form: forms.Form, page: FormPage, save: Saving
) -> HttpResponse:
    """The form's page while the product may change, else why it does not and what to do."""
    if is_product_settled(product.pk):
        return _locked(request, {"sentence": SETTLED, "product": product, "page": page})
    return one_form(request, form, page, save)


def new_form(request: HttpRequest, form: forms.Form, page: FormPage, save: Saving) -> HttpResponse:
    """Show the form, or save it and go to what was made."""
    made: list[Any] = []
    if form.is_bound and saved(form, lambda entered: made.append(save(entered))):
        messages.success(request, page.said)
        return redirect(made[0])
    return form_page(request, form, page)


def _locked(request: HttpRequest, shown: dict[str, object]) -> HttpResponse:
    status = 422 if request.method == "POST" else 200
    return render(request, "treatments/locked.html", shown, status=status)
