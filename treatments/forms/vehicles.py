"""What is entered about a vehicle: who drives it, what a check found aboard."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import row_field
from treatments.forms.stock import ChoosingForm
from treatments.rules.vehicles import ITEM_WORDS, LONGEST_NOTE, Found, VehicleItem

PRESENT, MISSING = "present", "missing"
ANSWERS = [(PRESENT, "Aboard"), (MISSING, "Missing or not fit for use")]


class EditPlaceForm(ChoosingForm):
    """What a place is called and who drives it."""

    name = forms.CharField(label="Name", max_length=80)
    plate = forms.CharField(label="Plate", max_length=16, required=False)
    technician = row_field(
        "Driven by",
        required=False,
        help_text="What this technician records is taken from here. For a vehicle only.",
    )


class VehicleCheckForm(forms.Form):
    """One answer and one note an item."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for item in VehicleItem:
            self.fields[item.value] = forms.ChoiceField(
                label=ITEM_WORDS[item],
                choices=ANSWERS,
                widget=forms.RadioSelect,
                error_messages={"required": "say whether it is aboard."},
            )
            self.fields[f"{item.value}_note"] = forms.CharField(
                label=f"Note on the {ITEM_WORDS[item].lower()}",
                max_length=LONGEST_NOTE,
                required=False,
            )


def found_aboard(entered: dict[str, Any]) -> dict[VehicleItem, Found]:
    """The answers of a valid form by item."""
    return {
        item: Found(entered[item.value] == PRESENT, entered[f"{item.value}_note"])
        for item in VehicleItem
    }
