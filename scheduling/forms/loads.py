"""What a technician enters of a load: how it was mixed, what was left of it."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms

from scheduling.forms.field import FINISHED_UNITS, LIQUID_UNITS, MASS_UNITS, Choices
from treatments.rules.loads import REST_WORDS

LOST = dict.fromkeys(
    ("invalid", "required"), "This form has lost its number. Open this page again."
)


def _amount(label: str, **words: Any) -> forms.CharField:
    reading = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, max_length=20, widget=reading, **words)


class MixLoadForm(forms.Form):
    """One tank as it was mixed; amounts are read on the measure, never filled in beforehand."""

    halves = ("product_amount", "product_unit", "finished_amount", "finished_unit")
    client_ref = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=LOST)
    product_amount = _amount(
        "Product in the tank, undiluted",
        error_messages={"required": "write the product you measured."},
    )
    product_unit = forms.ChoiceField(
        label="Unit of the product", choices=(*LIQUID_UNITS, *MASS_UNITS)
    )
    finished_amount = _amount(
        "Made up to", error_messages={"required": "write the finished spray in the tank."}
    )
    finished_unit = forms.ChoiceField(label="Unit of the spray", choices=FINISHED_UNITS)
    mixed = forms.TimeField(
        label="Mixed at", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    lot = forms.TypedChoiceField(label="Lot", required=False, coerce=int, empty_value=None)
    sprayer = forms.TypedChoiceField(label="Sprayer", required=False, coerce=int, empty_value=None)
    equipment = forms.CharField(
        label="Or another tank", max_length=80, required=False, help_text="1-gal hand can"
    )

    def __init__(self, *args: Any, lots: Choices, sprayers: Choices, **kwargs: Any) -> None:
        # beside the form of the choice on one page: its names must not meet the other's
        kwargs.setdefault("auto_id", "load_%s")
        super().__init__(*args, **kwargs)
        for name, choices in (("lot", lots), ("sprayer", sprayers)):
            offered = [("", "Not said"), *choices]
            self.fields[name].choices = offered  # type: ignore[attr-defined]


class RestForm(forms.Form):
    """What was found in the tank, and what was done with it."""

    client_ref = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=LOST)
    kind = forms.ChoiceField(
        label="What was done with it",
        choices=[(kind.value, words) for kind, words in REST_WORDS.items()],
        widget=forms.RadioSelect,
        error_messages={"required": "say what was done with what is left."},
    )
    amount = _amount("How much", required=False, help_text="Empty when nothing is left.")
    unit = forms.ChoiceField(label="Unit", choices=FINISHED_UNITS)
    how = forms.CharField(
        label="Disposed of how",
        max_length=120,
        required=False,
        help_text="Put out on a place the label names, collection day",
    )
    where = forms.CharField(label="Disposed of where", max_length=120, required=False)
