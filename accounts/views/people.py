"""The people of the firm."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from accounts.forms import InviteForm, PeopleFilter, PersonForm, RolesForm
from accounts.guards import person_of, requires
from accounts.permissions import Permission, allows
from accounts.rules.phones import readable
from accounts.selectors.pages import branch_choices, local_today, people_page, person_page
from accounts.selectors.people import person_for
from accounts.selectors.register_pages import person_papers
from accounts.services.invitations import Invitation, invite_again, mail_invitation
from accounts.services.people import (
    deactivate_person,
    edit_person,
    invite_person,
    reactivate_person,
    set_roles,
)
from accounts.views.one_form import FormPage, form_page, one_form, posted, saved


@requires(Permission.SEE_PEOPLE)
@require_GET
def index(request: HttpRequest) -> HttpResponse:
    """List the people, 50 a page."""
    asking = person_of(request)
    branches = branch_choices(asking)
    form = PeopleFilter(request.GET, branches=branches)
    wanted = form.cleaned_data if form.is_valid() else {}
    rows, page = people_page(
        asking,
        show=wanted.get("show", ""),
        branch_id=wanted.get("branch"),
        today=local_today(asking, timezone.now()),
        number=request.GET.get("page"),
    )
    shown = {"rows": rows, "page": page, "form": form, "branches": branches}
    return render(request, "accounts/people.html", shown)


@requires(Permission.SEE_PEOPLE)
@require_GET
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one person with their licenses."""
    asking = person_of(request)
    today = local_today(asking, timezone.now())
    page = person_page(asking, pk, today)
    shown = {"page": page, "person": page.person, "papers": person_papers(pk, today)}
    return render(request, "accounts/person.html", shown)


@requires(Permission.EDIT_PEOPLE)
@require_http_methods(["GET", "POST"])
def invite(request: HttpRequest) -> HttpResponse:
    """Enter a person and show the link that sets their password."""
    asking = person_of(request)
    grants = allows(asking, Permission.GRANT_ROLES)
    form = InviteForm(
        posted(request),
        branches=branch_choices(asking),
        with_roles=grants,
        initial={"branch": asking.branch_id},
    )
    made: list[Invitation] = []

    def save(entered: dict[str, Any]) -> None:
        made.append(invite_person(**_person(entered), roles=entered.get("roles", ()), by=asking))

    if form.is_bound and saved(form, save):
        return _invited(request, made[0])
    source = "They set their own password by a link that works once."
    if not grants:
        source += " A manager gives the roles afterward."
    words = FormPage("Invite a person", "Make the invitation", reverse("people"), source=source)
    return form_page(request, form, words)


@requires(Permission.EDIT_PEOPLE)
@require_http_methods(["GET", "POST"])
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a new link for somebody who has not set a password yet."""
    asking = person_of(request)
    person = person_for(asking, pk)
    form, made = forms.Form(posted(request)), []
    if form.is_bound and saved(form, lambda _: made.append(invite_again(person_id=pk, by=asking))):
        return _invited(request, made[0])
    words = FormPage(
        f"Invite {person.full_name} again", "Make a new link", person.get_absolute_url()
    )
    return form_page(request, form, words)


@requires(Permission.EDIT_PEOPLE)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change name, e-mail, phone, branch."""
    asking = person_of(request)
    person = person_for(asking, pk)
    known = {
        "full_name": person.full_name,
        "email": person.email,
        "phone": readable(person.phone),
        "branch": person.branch_id,
    }
    form = PersonForm(posted(request), branches=branch_choices(asking), initial=known)
    words = FormPage(
        f"Change {person.full_name}", "Save", person.get_absolute_url(), "The person is changed."
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: edit_person(person_id=pk, **_person(entered), by=asking),
    )


@requires(Permission.GRANT_ROLES)
@require_http_methods(["GET", "POST"])
def roles(request: HttpRequest, pk: int) -> HttpResponse:
    """Give somebody their roles."""
    asking = person_of(request)
    person = person_for(asking, pk)
    form = RolesForm(posted(request), initial={"roles": list(person.roles)})
    words = FormPage(
        f"Roles of {person.full_name}",
        "Save the roles",
        person.get_absolute_url(),
        "The roles are set; they count from the next page on.",
    )
    return one_form(
        request,
        form,
        words,
        lambda entered: set_roles(person_id=pk, roles=entered["roles"], by=asking),
    )


@requires(Permission.EDIT_PEOPLE)
@require_http_methods(["GET", "POST"])
def deactivate(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a person go."""
    asking = person_of(request)
    person = person_for(asking, pk)
    words = FormPage(
        f"Let {person.full_name} go",
        "End their sign-in now",
        person.get_absolute_url(),
        f"{person.full_name} is signed out everywhere.",
        source="They are signed out everywhere at once and cannot sign in again. Their records "
        "stay. Visits booked with them stay booked: move those first.",
        danger=True,
    )
    return one_form(
        request,
        forms.Form(posted(request)),
        words,
        lambda _: deactivate_person(person_id=pk, by=asking),
    )


@requires(Permission.EDIT_PEOPLE)
@require_http_methods(["GET", "POST"])
def reactivate(request: HttpRequest, pk: int) -> HttpResponse:
    """Bring a person back and show the link for a new password."""
    asking = person_of(request)
    person = person_for(asking, pk)
    form, made = forms.Form(posted(request)), []
    if form.is_bound and saved(
        form, lambda _: made.append(reactivate_person(person_id=pk, by=asking))
    ):
        return _invited(request, made[0])
    words = FormPage(
        f"Bring {person.full_name} back",
        "Bring back and make a link",
        person.get_absolute_url(),
        source="They keep the roles they had and set a new password by a link.",
    )
    return form_page(request, form, words)


def _person(entered: dict[str, Any]) -> dict[str, Any]:
    named = {name: entered[name] for name in ("full_name", "email", "phone")}
    return {**named, "branch_id": entered["branch"]}


def _invited(request: HttpRequest, invitation: Invitation) -> HttpResponse:
    shown = {"invitation": invitation, "is_mailed": mail_invitation(invitation)}
    return render(request, "accounts/invited.html", shown)
