"""The page of one form: shown, checked, saved, and shown again with a sentence when refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from accounts.refusals import Refused


@dataclass(frozen=True)
class FormPage:
    """The words of a form's page and where one goes from it.

    `act` names the button, `said` the line shown once it is saved.
    """

    heading: str
    act: str
    back_url: str
    said: str = ""
    source: str = ""
    danger: bool = False
    two: bool = False
    template: str = "components/_form_page.html"


def posted(request: HttpRequest) -> Any:
    """What a form is bound to: the posted fields, or nothing when the page is only opened."""
    return request.POST if request.method == "POST" else None


def one_form(
    request: HttpRequest,
    form: forms.Form,
    page: FormPage,
    save: Callable[[dict[str, Any]], object],
) -> HttpResponse:
    """Show the form, or save it and go back; a refusal stands at its field with what was typed."""
    if form.is_bound and saved(form, save):
        if page.said:
            messages.success(request, page.said)
        return redirect(page.back_url)
    return form_page(request, form, page)


def saved(form: forms.Form, save: Callable[[dict[str, Any]], object]) -> bool:
    """Say whether the form was valid and saved; a refusal becomes the error of its field.

    What a person may not do at all stays a refusal of its own page.
    """
    if not form.is_valid():
        return False
    try:
        save(form.cleaned_data)
    except Refused as refused:
        if refused.code == "not_permitted":
            raise
        field = str(refused.facts.get("field", ""))
        form.add_error(field if field in form.fields else None, refused.sentence)
        return False
    return True


def form_page(request: HttpRequest, form: forms.Form, page: FormPage) -> HttpResponse:
    """The form's page; 422 when it was posted and not saved."""
    shown = {"form": form, **vars(page)}
    status = 422 if form.is_bound else 200
    return render(request, page.template, shown, status=status)
