"""The days an inspection bundle is asked for."""

from __future__ import annotations

from typing import Any

from django import forms

WRITE_DAY = {"required": "write the day.", "invalid": "write a day, like 2026-11-25."}


class BundleForm(forms.Form):
    """From, to, and one branch or all."""

    since = forms.DateField(
        label="From", widget=forms.DateInput(attrs={"type": "date"}), error_messages=WRITE_DAY
    )
    until = forms.DateField(
        label="To", widget=forms.DateInput(attrs={"type": "date"}), error_messages=WRITE_DAY
    )
    branch = forms.TypedChoiceField(label="Branch", required=False, coerce=int, empty_value=None)

    def __init__(self, *args: Any, branches: list[tuple[int, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["branch"].choices = [("", "Every branch"), *branches]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or {}
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and since > until:
            self.add_error("until", "the last day is before the first one.")
        return cleaned
