"""What is typed about preparing and about visits by customers."""

from __future__ import annotations

from django import forms


class LinesForm(forms.Form):
    """Items, one a line."""

    lines = forms.CharField(
        label="Items, one a line",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 10}),
        help_text="At most 20. Customers read them: no names, no codes.",
    )


class OtherTimeForm(forms.Form):
    """Which other time would suit."""

    words = forms.CharField(
        label="Which days and hours suit you?", required=False, max_length=300,
        error_messages={"max_length": "at most 300 letters."},
    )  # fmt: skip
