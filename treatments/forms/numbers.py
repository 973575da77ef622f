"""Numbers as printed: typed as text, so that what was typed wrong stays to be mended."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from sites.rules.units import plain


class NumbersForm(forms.Form):
    """A form that shows stored numbers without their trailing zeros."""

    def get_initial_for_field(self, field: forms.Field, field_name: str) -> Any:
        shown = super().get_initial_for_field(field, field_name)
        return plain(shown) if isinstance(shown, Decimal) else shown


def number_field(label: str, digits: int, places: int, **more: Any) -> forms.DecimalField:
    """A number as printed."""
    return forms.DecimalField(
        label=label,
        max_digits=digits,
        decimal_places=places,
        widget=_typed("decimal"),
        error_messages={"required": "write the number.", "invalid": "write a number: 0.5."},
        **more,
    )


def whole_field(label: str, **more: Any) -> forms.IntegerField:
    """A whole number."""
    return forms.IntegerField(
        label=label,
        widget=_typed("numeric"),
        error_messages={"required": "write the number.", "invalid": "write a whole number."},
        **more,
    )


def _typed(keys: str) -> forms.TextInput:
    return forms.TextInput(attrs={"inputmode": keys, "autocomplete": "off"})
