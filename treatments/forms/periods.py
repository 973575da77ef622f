"""Closing a period and reopening one."""

from __future__ import annotations

from django import forms

from accounts.forms import day_field
from treatments.forms.entries import reason_field


class CloseForm(forms.Form):
    """Through which day."""

    through = day_field("Closed through", help_text="The last day that is closed.")


class ReopenForm(forms.Form):
    """From which day on, and why."""

    from_day = day_field("Reopened from", help_text="Days before it stay closed.")
    reason = reason_field()
