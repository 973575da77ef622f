"""What the certified applicator signs."""

from __future__ import annotations

from django import forms

ANSWERS = (("yes", "Allow this use"), ("no", "Do not allow it"))


class DecisionForm(forms.Form):
    """Yes or no, and why."""

    answer = forms.ChoiceField(
        label="Decision",
        choices=ANSWERS,
        widget=forms.RadioSelect,
        error_messages={"required": "choose one."},
    )
    reason = forms.CharField(
        label="Reason",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What you read on the label and saw on the site. It is kept with your license.",
        error_messages={"required": "write why."},
    )
