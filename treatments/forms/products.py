"""What people type about products and their active ingredients."""

from __future__ import annotations

from django import forms

from sites.rules.places import choices
from treatments.forms.numbers import NumbersForm, number_field
from treatments.rules.products import (
    FORMULATION_WORDS,
    REGISTRATION_KIND_WORDS,
    SIGNAL_WORD_WORDS,
    SignalWord,
)


class ProductForm(forms.Form):
    """A product as printed on its label."""

    name = forms.CharField(
        label="Name on the label",
        max_length=120,
        error_messages={"required": "write the name as printed on the label."},
    )
    formulation = forms.ChoiceField(label="Formulation", choices=choices(FORMULATION_WORDS))
    registration_kind = forms.ChoiceField(
        label="Registration", choices=choices(REGISTRATION_KIND_WORDS)
    )
    registration_number = forms.CharField(
        label="Registration number",
        max_length=40,
        required=False,
        help_text="After EPA Reg. No. Exempt products and devices have none.",
    )
    establishment_number = forms.CharField(label="EPA Est. number", max_length=40, required=False)
    signal_word = forms.ChoiceField(
        label="Signal word", choices=choices(SIGNAL_WORD_WORDS), initial=SignalWord.CAUTION
    )
    is_restricted_use = forms.BooleanField(label="Restricted use product", required=False)


class IngredientForm(NumbersForm):
    """One active ingredient of a product."""

    common_name = forms.CharField(
        label="Common name",
        max_length=80,
        error_messages={"required": "write the common name as printed."},
    )
    irac_group = forms.CharField(
        label="IRAC group",
        max_length=8,
        required=False,
        help_text="The group printed on the label: 3A, 4A, 22A.",
    )
    irac_scheme = forms.CharField(
        label="Version of the IRAC scheme",
        max_length=8,
        required=False,
        help_text="In which the group was read: 11.3. A later version may regroup.",
    )
    percent_by_weight = number_field("Percent by weight", 9, 5)
    pounds_per_gallon = number_field(
        "Pounds in a gallon", 9, 6, required=False, help_text="Of a liquid, as printed."
    )
