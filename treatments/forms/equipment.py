"""What is entered about equipment and its calibration."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from sites.rules.branch_units import METRIC, US
from sites.rules.units import SPRAY_UNITS, Amount
from treatments.forms.stock import ChoosingForm
from treatments.rules.calibration import EQUIPMENT_WORDS, MEASURING_WORDS, METRIC_MEASURING_WORDS


def _number(label: str, places: int = 3, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, min_value=0, max_value=99_999, decimal_places=places, **more
    )


def _nozzle() -> forms.CharField:
    return forms.CharField(label="Nozzle", max_length=80, required=False)


class EditEquipmentForm(forms.Form):
    """How a piece is called and used."""

    name = forms.CharField(label="Name", max_length=80, help_text="Hand can 3.")
    tank = _number("Tank, gal")
    nozzle = _nozzle()
    pressure_psi = forms.DecimalField(
        label="Pressure, psi", min_value=0, max_value=9_999, decimal_places=1, required=False
    )

    def __init__(self, *args: Any, system: str = US, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = SPRAY_UNITS[system]
        self.fields["tank"].label = f"Tank, {self.unit}"

    def clean_tank(self) -> Amount:
        """The tank with the unit it was typed in."""
        return Amount(self.cleaned_data["tank"], self.unit)


class EquipmentForm(EditEquipmentForm, ChoosingForm):
    """One sprayer, spreader or duster."""

    branch = row_field("Branch")
    kind = forms.ChoiceField(label="Kind", choices=list(EQUIPMENT_WORDS.items()))
    field_order = ("branch", "name", "kind", "tank", "nozzle", "pressure_psi")


class CalibrationForm(forms.Form):
    """One measurement."""

    measured_on = day_field("Measured on")
    measuring = forms.ChoiceField(label="How", choices=list(MEASURING_WORDS.items()))
    caught = _number("Put out or caught", help_text="In gal, fl oz or mL, as the method says.")
    over = _number(
        "Over how much",
        required=False,
        help_text="Square feet of the plot, or seconds of a timed flow.",
    )
    sq_ft_a_minute = _number(
        "Square feet a minute", 2, required=False, help_text="For a timed flow only."
    )
    nozzle = _nozzle()
    pressure_psi = forms.DecimalField(
        label="Pressure, psi", min_value=0, max_value=9_999, decimal_places=1, required=False
    )

    def __init__(self, *args: Any, system: str = US, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if system == METRIC:
            self._in_metric()

    def _in_metric(self) -> None:
        """Liters and square meters; a plot of 1/128 acre is none here."""
        self.fields["measuring"].choices = list(METRIC_MEASURING_WORDS.items())  # type: ignore[attr-defined]
        self.fields["caught"].help_text = "In L or mL, as the method says."
        self.fields["over"].help_text = "Square meters of the plot, or seconds of a timed flow."
        self.fields["sq_ft_a_minute"].label = "Square meters a minute"
