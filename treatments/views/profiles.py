"""The sheets of the rules: what each asks, its next version, its verification."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, form_page, one_form, posted
from treatments.forms.profile_rows import with_more
from treatments.forms.profiles import NextProfileForm, as_said, as_typed
from treatments.selectors.profile_pages import profile_for, rule_page, rule_rows
from treatments.services.profile_verification import verify_profile
from treatments.services.profile_versions import supersede_profile


@requires(Permission.SEE_LABELS)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List every rule with its evidence."""
    rows = rule_rows(timezone.localdate())
    verified = sum(row.is_verified for row in rows)
    return render(request, "treatments/profiles.html", {"rows": rows, "verified": verified})


@requires(Permission.SEE_LABELS)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one version of a rule."""
    return render(request, "treatments/profile.html", {"page": rule_page(pk)})


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def supersede(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter the next version of a rule by a copy."""
    row = profile_for(pk)
    words = FormPage(
        f"Next version of {row.code}",
        "Enter this version",
        row.get_absolute_url(),
        "Entered. It only warns until a second person verifies it.",
        "A copy of this version: change what the rule says now. Records keep the version they "
        "were made under.",
        two=True,
        template="treatments/profile_next.html",
    )
    if "more" in request.POST:
        return form_page(request, _with_more(request.POST), words)
    return one_form(
        request,
        NextProfileForm(posted(request), initial=as_typed(row)),
        words,
        lambda entered: supersede_profile(profile_id=pk, by=person_of(request), **as_said(entered)),
    )


def _with_more(typed: QueryDict) -> NextProfileForm:
    """What was typed so far, not looked at yet, with more empty rows."""
    return NextProfileForm(initial=with_more(typed.dict(), str(typed["more"])))


@requires(Permission.EDIT_LABELS)
@require_POST
def verify(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that a version agrees with the rule's own text."""
    verify_profile(profile_id=pk, by=person_of(request), now=timezone.now())
    messages.success(request, "Verified. What it asks counts from now on.")
    return redirect("profile", pk)
