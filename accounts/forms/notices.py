"""What the office types about notices and their templates."""

from __future__ import annotations

from django import forms

from accounts.rules.notice_text import MOST_BODY, MOST_SUBJECT
from accounts.rules.notices import KIND_WORDS, STATE_WORDS, WAY_WORDS


class NoticeFilter(forms.Form):
    """Which notices are listed; what is none of the list is everything."""

    state = forms.ChoiceField(
        label="State", required=False, choices=[("", "Every state"), *STATE_WORDS.items()]
    )
    kind = forms.ChoiceField(
        label="Kind", required=False, choices=[("", "Every kind"), *KIND_WORDS.items()]
    )
    way = forms.ChoiceField(
        label="Way", required=False, choices=[("", "Every way"), *WAY_WORDS.items()]
    )


class TemplateForm(forms.Form):
    """The text of one kind of notice."""

    subject = forms.CharField(max_length=MOST_SUBJECT)
    body = forms.CharField(
        label="Text", max_length=MOST_BODY, widget=forms.Textarea(attrs={"rows": 14})
    )


class CameBackForm(forms.Form):
    """What the message said that came back."""

    said = forms.CharField(label="What it said", max_length=200, required=False)
