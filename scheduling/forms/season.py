"""What is entered about windows, weather and the rules of the season."""

from __future__ import annotations

from django import forms


class WindowDaysForm(forms.Form):
    """Another number of days of one treatment, and why."""

    days = forms.IntegerField(label="Days it counts for", min_value=0, max_value=3650)
    reason = forms.CharField(
        label="Why",
        max_length=300,
        widget=forms.TextInput,
        error_messages={"required": "write why, for whoever reads the number later."},
    )
