"""What is entered about a factor that shortens label claims."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import day_field
from sites.rules.places import EXPOSURE_WORDS, SURFACE_WORDS, choices
from treatments.rules.products import FORMULATION_WORDS
from treatments.rules.residual_factors import FACTOR_WORDS

ANY = [("", "Any")]


def _month(label: str, start: int) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=1, max_value=12, initial=start)


class FactorForm(forms.Form):
    """One row of the table, from a day on."""

    kind = forms.ChoiceField(label="What shortens the claim", choices=choices(FACTOR_WORDS))
    from_on = day_field("Counts from")
    factor = forms.DecimalField(
        label="Factor",
        max_digits=4,
        decimal_places=3,
        required=False,
        help_text="From 0 to 1; 0.5 halves the label's days, 1 changes nothing.",
    )
    rain_mm = forms.DecimalField(
        label="Or rain expected, mm",
        min_value=0,
        max_value=9_999,
        decimal_places=1,
        required=False,
        help_text="For rain only, instead of a factor: 465 mm leave 42 of 90 days (published).",
    )
    ingredient = forms.ChoiceField(label="Active ingredient", required=False)
    formulation = forms.ChoiceField(
        label="Formulation", choices=ANY + choices(FORMULATION_WORDS), required=False
    )
    surface = forms.ChoiceField(
        label="Surface", choices=ANY + choices(SURFACE_WORDS), required=False
    )
    exposure = forms.ChoiceField(
        label="Exposure", choices=ANY + choices(EXPOSURE_WORDS), required=False
    )
    first_month = _month("From month", 1)
    last_month = _month("Through month", 12)
    source = forms.CharField(
        label="Published in",
        max_length=200,
        required=False,
        help_text="Left empty it is marked as a house rule.",
    )

    def __init__(self, *args: Any, ingredients: list[tuple[str, str]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["ingredient"].choices = ingredients  # type: ignore[attr-defined]
