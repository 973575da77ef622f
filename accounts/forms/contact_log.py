"""What is typed about a contact with a customer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import day_field
from accounts.rules.contact_log import OUTCOME_WORDS, WAY_WORDS

CHOOSE = {"required": "choose one.", "invalid_choice": "choose one of the list."}


class ContactEntryForm(forms.Form):
    """Who, how, what came of it, what was said, when to call again."""

    contact_id = forms.TypedChoiceField(
        label="With whom", coerce=int, empty_value=None, required=False, error_messages=CHOOSE
    )
    way = forms.ChoiceField(label="How", choices=list(WAY_WORDS.items()), error_messages=CHOOSE)
    outcome = forms.ChoiceField(
        label="What came of it", choices=list(OUTCOME_WORDS.items()), error_messages=CHOOSE
    )
    said = forms.CharField(
        label="What was said",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    call_again_on = day_field(
        "Call again on", required=False,
        help_text="Empty: the next working day where nobody answered, else never.",
    )  # fmt: skip

    def __init__(self, *args: Any, contacts: Iterable[tuple[int, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["contact_id"].choices = [("", "Nobody named"), *contacts]  # type: ignore[attr-defined]
