"""What people type about labels."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import day_field
from sites.rules.places import PLACE_WORDS, choices
from sites.rules.units import KINDS, unit_word
from treatments.rules.products import (
    COMPARISON_WORDS,
    FILE_KIND_WORDS,
    LIMIT_FACT_WORDS,
    METHOD_WORDS,
    MIX_BASIS_WORDS,
    RATE_BASIS_WORDS,
    SEVERITY_WORDS,
)

Choices = Iterable[tuple[Any, str]]
UNITS = [
    (unit, unit_word(unit)) for unit, kind in KINDS.items() if kind in ("volume", "mass", "count")
]


def several_field(label: str, words: Choices, **more: Any) -> forms.MultipleChoiceField:
    """Some of a list, each ticked."""
    widget = forms.CheckboxSelectMultiple
    return forms.MultipleChoiceField(label=label, choices=list(words), widget=widget, **more)


def number_field(label: str, digits: int, places: int, **more: Any) -> forms.DecimalField:
    """A number as printed."""
    return forms.DecimalField(label=label, max_digits=digits, decimal_places=places, **more)


class ImportLabelForm(forms.Form):
    """A label file."""

    file = forms.FileField(label="Label file (JSON)", help_text="One label of one product.")


class AttachForm(forms.Form):
    """A paper of the product as a PDF."""

    kind = forms.ChoiceField(label="Which paper", choices=choices(FILE_KIND_WORDS))
    file = forms.FileField(label="PDF", help_text="20 MB at most.")


class SupersedeForm(forms.Form):
    """The dates of the next version."""

    label_date = day_field("Date of the new label")
    effective_on = day_field("In force from")


class WithdrawForm(forms.Form):
    """The last day of a label."""

    last_day = day_field("Not to be used after")


class DirectionForm(forms.Form):
    """One direction for use as printed."""

    title = forms.CharField(label="Title", max_length=120)
    page = forms.CharField(label="Page", max_length=20)
    places = several_field("Use sites", choices(PLACE_WORDS))
    methods = several_field("Methods", choices(METHOD_WORDS))
    pest_ids = forms.TypedMultipleChoiceField(
        label="Pests", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    rate_basis = forms.ChoiceField(label="Rate counted", choices=choices(RATE_BASIS_WORDS))
    rate_unit = forms.ChoiceField(label="Unit of product", choices=UNITS)
    rate_min = number_field("Lowest rate", 12, 6, required=False)
    rate_max = number_field("Highest rate", 12, 6)
    per_gallon = number_field("Product in a gallon", 12, 6, required=False)
    mix_basis = forms.ChoiceField(label="How it is mixed", choices=choices(MIX_BASIS_WORDS))
    gallons_per_1000 = number_field("Usual gallons on 1,000 sq ft", 9, 4, required=False)
    min_gallons_per_1000 = number_field("Least gallons on 1,000 sq ft", 9, 4, required=False)
    max_gallons_per_1000 = number_field("Most gallons on 1,000 sq ft", 9, 4, required=False)
    residual_days = forms.IntegerField(label="Label residual, days", required=False)
    min_interval_days = forms.IntegerField(label="Retreatment interval, days", initial=0)
    uses_per_year = forms.IntegerField(label="Uses a year", required=False)

    def __init__(self, *args: Any, pests: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["pest_ids"].choices = list(pests)  # type: ignore[attr-defined]


class LimitForm(forms.Form):
    """One limit as printed."""

    fact = forms.ChoiceField(label="About", choices=choices(LIMIT_FACT_WORDS))
    comparison = forms.ChoiceField(label="Must be", choices=choices(COMPARISON_WORDS))
    limit = number_field("Number", 12, 4, initial=0)
    unit = forms.ChoiceField(
        label="Unit of product",
        choices=[("", "Not an amount of product"), *UNITS],
        required=False,
    )
    severity = forms.ChoiceField(label="What follows", choices=choices(SEVERITY_WORDS))
    direction = forms.ChoiceField(label="Direction", required=False)
    sentence = forms.CharField(label="The label's words", max_length=300)
    page = forms.CharField(label="Page", max_length=20)

    def __init__(self, *args: Any, titles: Iterable[str], **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [("", "The whole label"), *((title, title) for title in titles)]
        self.fields["direction"].choices = offered  # type: ignore[attr-defined]
