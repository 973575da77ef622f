"""What is entered about windows, weather and the rules of the season."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from scheduling.rules.weather_file import HEADER, MOST_BYTES
from treatments.forms.stock import ChoosingForm


class WindowDaysForm(forms.Form):
    """Another number of days of one treatment, and why."""

    days = forms.IntegerField(label="Days it counts for", min_value=0, max_value=3650)
    reason = forms.CharField(
        label="Why",
        max_length=300,
        widget=forms.TextInput,
        error_messages={"required": "write why, for whoever reads the number later."},
    )


class SeasonRuleForm(forms.Form):
    """Another value of one number, from a day on."""

    value = forms.CharField(label="Value", max_length=10)
    from_on = day_field("Counts from")
    source = forms.CharField(
        label="Published in",
        max_length=200,
        required=False,
        help_text="Left empty it is marked as a house rule.",
    )


def _degrees(label: str) -> forms.DecimalField:
    return forms.DecimalField(label=label, min_value=-200, max_value=200, decimal_places=1)


class ReadingForm(ChoosingForm):
    """The weather of one day."""

    branch = row_field("Branch")
    day = day_field("Day")
    low = _degrees("Lowest")
    high = _degrees("Highest")
    unit = forms.ChoiceField(label="Degrees", choices=[("F", "Fahrenheit"), ("C", "Celsius")])
    cloud_percent = forms.IntegerField(
        label="Clouds, % of the sky",
        min_value=0,
        max_value=100,
        required=False,
        help_text="0 clear, 100 covered. Left empty the day counts as sunny.",
    )
    rain_mm = forms.DecimalField(
        label="Rain, mm", min_value=0, max_value=2000, decimal_places=1, required=False
    )


class ReadingsFileForm(ChoosingForm):
    """A file of daily weather."""

    branch = row_field("Branch")
    file = forms.FileField(
        label="CSV file",
        help_text=f"First row: {HEADER}. Days as 2026-09-15. 2 MB at most.",
        error_messages={"required": "choose the file."},
    )

    def clean_file(self) -> Any:
        """Look at the size before a byte is read."""
        if self.cleaned_data["file"].size > MOST_BYTES:
            raise forms.ValidationError("the file is above 2 MB.")
        return self.cleaned_data["file"]
