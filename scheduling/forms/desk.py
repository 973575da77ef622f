"""The one question at the inspection desk, and the inspector who comes for a day."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator

from scheduling.forms.office import day_field, time_field
from scheduling.rules.desk import MOST_MILES

Choices = Iterable[tuple[Any, str]]
UNKNOWN = "choose one of the list."
FAR = f"choose at most {MOST_MILES} miles."
NO_RADIUS = "write a distance above 0 and up to 25 miles."


class DeskForm(forms.Form):
    """Days, person, property or customer, product, lot, or around an address at some hours."""

    since = day_field("From", required=False)
    until = day_field("To", required=False)
    person = forms.TypedChoiceField(label="Applicator", coerce=int, empty_value=None)
    place = forms.CharField(label="Property or customer", max_length=200)
    product = forms.ChoiceField(label="Product")
    lot = forms.CharField(label="Lot", max_length=40)
    near = forms.CharField(label="Around an address", max_length=200)
    miles = forms.DecimalField(
        label="Within miles",
        max_digits=8,
        decimal_places=3,
        validators=[MaxValueValidator(MOST_MILES, FAR)],
        error_messages={"invalid": NO_RADIUS},
    )
    from_hour = time_field("From hour", required=False)
    to_hour = time_field("To hour", required=False)

    def __init__(self, *args: Any, products: Iterable[str], people: Choices, **more: Any) -> None:
        more.setdefault("auto_id", "d-%s")
        more.setdefault("label_suffix", "")
        super().__init__(*args, **more)
        for field in self.fields.values():
            field.required = False
            field.error_messages["invalid_choice"] = UNKNOWN
        named = [("", "Every product"), *((name, name) for name in products)]
        self.fields["product"].choices = named  # type: ignore[attr-defined]
        self.fields["person"].choices = [("", "Everyone"), *people]  # type: ignore[attr-defined]

    def clean_miles(self) -> Decimal | None:
        """A distance of nothing finds nothing, which would read like an answer."""
        miles: Decimal | None = self.cleaned_data["miles"]
        if miles is not None and miles <= 0:
            raise forms.ValidationError(NO_RADIUS)
        return miles

    def clean(self) -> dict[str, Any]:
        asked: dict[str, Any] = super().clean() or {}
        self._in_order(asked, "since", "until", "the last day is before the first one.")
        self._in_order(asked, "from_hour", "to_hour", "the last hour is before the first one.")
        self._together(asked, "from_hour", "to_hour", "write both hours.")
        self._together(asked, "near", "miles", "write an address and how many miles around it.")
        return asked

    def _in_order(self, asked: dict[str, Any], first: str, last: str, sentence: str) -> None:
        if asked.get(first) and asked.get(last) and asked[first] > asked[last]:
            self.add_error(last, sentence)

    def _together(self, asked: dict[str, Any], one: str, other: str, sentence: str) -> None:
        for given, missing in ((one, other), (other, one)):
            is_fine = missing in self.errors or given in self.errors
            if not is_fine and bool(asked.get(given)) and asked.get(missing) in (None, ""):
                self.add_error(missing, sentence)

    @property
    def is_asked(self) -> bool:
        """Whether anything was asked at all."""
        return any(str(self.data.get(name) or "").strip() for name in self.fields)


class InspectorForm(forms.Form):
    """Who comes, from which agency, to which branch."""

    inspector_name = forms.CharField(
        label="Inspector", max_length=120, error_messages={"required": "write the name."}
    )
    agency = forms.CharField(
        label="Agency", max_length=120, error_messages={"required": "write the agency."}
    )
    branch = forms.TypedChoiceField(
        label="Branch", coerce=int, error_messages={"required": UNKNOWN, "invalid_choice": UNKNOWN}
    )

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = list(branches)  # type: ignore[attr-defined]
