"""What the customer's copy is given with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from accounts.rules.notices import Way

WAYS = (
    (Way.EMAIL, "E-mail it"),
    (Way.PAPER, "Handed over on paper"),
    (Way.PHONE, "Shown on this phone"),
)


class CopyForm(forms.Form):
    """To whom; the button pressed says how."""

    to = forms.ChoiceField(label="To whom")
    way = forms.ChoiceField(choices=WAYS, widget=forms.HiddenInput)

    def __init__(self, *args: Any, to: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["to"].choices = list(to)  # type: ignore[attr-defined]
