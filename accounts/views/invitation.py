"""The door for who was invited."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from accounts.forms import FirstPasswordForm
from accounts.guards import open_to_all
from accounts.services.invitations import accept_invitation, invited_person
from accounts.views.one_form import posted, saved


@open_to_all("who was invited has no password yet; the link's token is what opens it")
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def accept(request: HttpRequest, uid: str, token: str) -> HttpResponse:
    """Set the first password by a link that works once."""
    person = invited_person(uid, token)
    form = FirstPasswordForm(posted(request))

    def save(entered: dict[str, str]) -> None:
        accept_invitation(uid=uid, token=token, password=entered["password"])

    if form.is_bound and saved(form, save):
        messages.success(request, "Your password is set. Sign in with your e-mail address.")
        return redirect("account_login")
    shown = {"form": form, "person": person}
    return render(request, "accounts/invitation.html", shown, status=422 if form.is_bound else 200)
