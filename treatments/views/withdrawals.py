"""Withdrawing a label, and lifting that."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, one_form, posted
from treatments.forms.labels import LiftForm, WithdrawForm
from treatments.selectors.label_pages import version_for
from treatments.services.withdrawals import lift_withdrawal, withdraw_label


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Say until when a label may be used."""
    version = version_for(pk)
    words = FormPage(
        f"Withdraw {version}",
        "Withdraw",
        version.get_absolute_url(),
        "Withdrawn.",
        source="It holds for every branch: after that day no lot with this label is mixed.",
        danger=True,
    )
    return one_form(
        request,
        WithdrawForm(posted(request)),
        words,
        lambda entered: withdraw_label(
            label_version_id=pk, **entered, by=person_of(request), now=timezone.now()
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def lift(request: HttpRequest, pk: int) -> HttpResponse:
    """Lift the withdrawal of a label."""
    version = version_for(pk)
    words = FormPage(
        f"Lift the withdrawal of {version}",
        "Lift the withdrawal",
        version.get_absolute_url(),
        "The withdrawal is lifted.",
        source="What was judged in between stays as it was.",
    )
    return one_form(
        request,
        LiftForm(posted(request)),
        words,
        lambda entered: lift_withdrawal(
            label_version_id=pk, **entered, by=person_of(request), now=timezone.now()
        ),
    )
