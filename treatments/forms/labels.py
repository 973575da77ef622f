"""What people type about labels."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import day_field
from sites.rules.places import PEST_GROUP_WORDS, PLACE_WORDS, choices
from sites.rules.units import unit_word
from treatments.forms.numbers import NumbersForm, number_field, whole_field
from treatments.rules.label_file import MOST_BYTES
from treatments.rules.products import (
    COMPARISON_WORDS,
    DRY,
    FILE_KIND_WORDS,
    LABEL_METHOD_WORDS,
    LIMIT_FACT_WORDS,
    MIX_BASIS_WORDS,
    RATE_BASIS_WORDS,
    SEVERITY_WORDS,
    TASK_WORDS,
    LimitFact,
)
from treatments.rules.protective_equipment import RESPIRATOR_WORDS
from treatments.rules.rate_choices import FIRM_RATE_WORDS
from treatments.rules.tank_mixes import TURN_WORDS

Choices = Iterable[tuple[Any, str]]
# the units labels are printed in come first, the ones of a laboratory last
VOLUMES = ("fl_oz", "gal", "qt", "pt", "cup", "tbsp", "tsp", "mL", "L", "uL")
MASSES = ("oz_wt", "lb", "g", "kg", "mg")
OTHER_FACTS = [row for row in choices(LIMIT_FACT_WORDS) if row[0] != LimitFact.FILL_TURN]
PAGE_ERRORS = {"required": "write the page it stands on."}


def unit_choices(formulation: str) -> list[tuple[str, str]]:
    """Units of product: those of a dry product begin with oz by weight, all others with fl oz."""
    first, second = (MASSES, VOLUMES) if formulation in DRY else (VOLUMES, MASSES)
    return [(unit, unit_word(unit)) for unit in (*first, *second, "each")]


def several_field(
    label: str, words: Choices, needed: str = "", **more: Any
) -> forms.MultipleChoiceField:
    """Some of a list, each ticked; `needed` is said when none is."""
    return forms.MultipleChoiceField(
        label=label,
        choices=list(words),
        widget=forms.CheckboxSelectMultiple,
        required=bool(needed),
        error_messages={"required": needed},
        **more,
    )


def page_field(label: str = "Page", **more: Any) -> forms.CharField:
    """The page of the printed label."""
    return forms.CharField(label=label, max_length=20, error_messages=PAGE_ERRORS, **more)


def text_field(label: str, *, required: bool = True) -> forms.CharField:
    """A paragraph of the label, copied."""
    return forms.CharField(
        label=label,
        required=required,
        max_length=6000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "copy the words of the label."},
    )


def file_field(label: str, help_text: str) -> forms.FileField:
    """One file."""
    return forms.FileField(
        label=label, help_text=help_text, error_messages={"required": "choose the file."}
    )


class ImportLabelForm(forms.Form):
    """A label file."""

    file = file_field("Label file (JSON)", "One label of one product, 1 MB at most.")

    def clean_file(self) -> Any:
        """Look at the size before a byte is read."""
        if self.cleaned_data["file"].size > MOST_BYTES:
            raise forms.ValidationError("the file is above 1 MB; no label is that long.")
        return self.cleaned_data["file"]


class AttachForm(forms.Form):
    """A paper of the product as a PDF."""

    kind = forms.ChoiceField(label="Which paper", choices=choices(FILE_KIND_WORDS))
    file = file_field("PDF", "20 MB at most.")


class LabelForm(NumbersForm):
    """The facts of a label that are not rows of their own, each with its page."""

    label_date = day_field("Date of the label")
    effective_on = day_field("In force from")
    protective_equipment = text_field("Protective equipment")
    page_protective_equipment = page_field("Page of the protective equipment", required=False)
    reentry_text = text_field("Re-entry")
    page_reentry_text = page_field("Page of the re-entry", required=False)
    precautions = text_field("Precautions")
    page_precautions = page_field("Page of the precautions", required=False)
    first_aid = text_field("First aid", required=False)
    page_first_aid = page_field("Page of the first aid", required=False)
    storage_and_disposal = text_field("Storage and disposal", required=False)
    page_storage_and_disposal = page_field("Page of the storage and disposal", required=False)
    reentry_minutes = whole_field(
        "Re-entry after, minutes", required=False, help_text="Where the label names a time."
    )
    safety_sheet_date = day_field("Date of the safety data sheet", required=False)
    only_listed_uses = forms.BooleanField(
        label="Nothing but the listed uses is allowed", required=False
    )
    page_only_listed_uses = page_field("Page of only listed uses", required=False)
    prohibited_methods = several_field("Prohibited methods", choices(LABEL_METHOD_WORDS))
    page_prohibited_methods = page_field("Page of the prohibited methods", required=False)


class ProtectionForm(forms.Form):
    """One piece of protective equipment."""

    task = forms.ChoiceField(label="Task", choices=choices(TASK_WORDS))
    item = forms.CharField(
        label="What is worn",
        max_length=120,
        error_messages={"required": "name the equipment as printed."},
    )
    respirators = several_field(
        "Which respirator will do",
        tuple(RESPIRATOR_WORDS.items()),
        help_text="Only for what is breathed through; any one of those ticked.",
    )
    page = page_field()


class SupersedeForm(forms.Form):
    """The dates of the next version."""

    label_date = day_field("Date of the new label")
    effective_on = day_field("In force from")


def reason_field(help_text: str) -> forms.CharField:
    """Why something is said of a label."""
    return forms.CharField(
        label="Reason",
        max_length=300,
        help_text=help_text,
        error_messages={"required": "say why, in a sentence the technician will read."},
    )


class WithdrawForm(forms.Form):
    """The last day of a label."""

    last_day = day_field("Not to be used after")
    reason = reason_field("Who ordered it and why. It stands in every refusal.")


class LiftForm(forms.Form):
    """Why a withdrawal is lifted."""

    reason = reason_field("What has changed since. The withdrawal stays in the history.")


class DirectionForm(NumbersForm):
    """One direction for use as printed."""

    title = forms.CharField(
        label="Title", max_length=120, error_messages={"required": "give the direction a title."}
    )
    page = page_field()
    places = several_field("Use sites", choices(PLACE_WORDS), "tick at least one use site.")
    methods = several_field("Methods", choices(LABEL_METHOD_WORDS), "tick at least one method.")
    rate_basis = forms.ChoiceField(label="Rate counted", choices=choices(RATE_BASIS_WORDS))
    rate_unit = forms.ChoiceField(label="Unit of product")
    rate_min = number_field("Lowest rate", 12, 6, required=False)
    rate_max = number_field("Highest rate", 12, 6)
    per_gallon = number_field("Product in a gallon", 12, 6, required=False)
    mix_basis = forms.ChoiceField(label="How it is mixed", choices=choices(MIX_BASIS_WORDS))
    gallons_per_1000 = number_field("Usual gallons on 1,000 sq ft", 9, 4, required=False)
    min_gallons_per_1000 = number_field("Least gallons on 1,000 sq ft", 9, 4, required=False)
    max_gallons_per_1000 = number_field("Most gallons on 1,000 sq ft", 9, 4, required=False)
    residual_days = whole_field("Label residual, days", required=False)
    min_interval_days = whole_field("Retreatment interval, days", initial=0)
    uses_per_year = whole_field("Uses a year", required=False)
    pest_ids = forms.TypedMultipleChoiceField(
        label="Pests", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    new_pest = forms.CharField(
        label="A pest that is not in the list",
        max_length=80,
        required=False,
        help_text="By its common name; it is added to the list and ticked when you save.",
    )
    new_pest_group = forms.ChoiceField(
        label="Group of that pest",
        choices=[("", "No new pest"), *choices(PEST_GROUP_WORDS)],
        required=False,
        help_text="Protection of a zone is kept for the group.",
    )

    def __init__(self, *args: Any, pests: Choices, formulation: str, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["rate_unit"].choices = unit_choices(formulation)  # type: ignore[attr-defined]
        self.fields["pest_ids"].choices = list(pests)  # type: ignore[attr-defined]


def direction_choices(titles: Iterable[str]) -> list[tuple[str, str]]:
    """The whole label, or one of its directions."""
    return [("", "The whole label"), *((title, title) for title in titles)]


class LimitForm(NumbersForm):
    """One limit as printed."""

    fact = forms.ChoiceField(label="About", choices=OTHER_FACTS)
    comparison = forms.ChoiceField(label="Must be", choices=choices(COMPARISON_WORDS))
    limit = number_field("Number", 12, 4, initial=0)
    unit = forms.ChoiceField(label="Unit of product", required=False)
    named = forms.CharField(
        label="Product, ingredient or category named",
        max_length=80,
        required=False,
        help_text="Only of a tank mix (empty: any other product) and of a license category.",
    )
    severity = forms.ChoiceField(label="What follows", choices=choices(SEVERITY_WORDS))
    direction = forms.ChoiceField(label="Direction", required=False)
    sentence = forms.CharField(
        label="The label's words",
        max_length=300,
        error_messages={"required": "copy the words of the label."},
    )
    page = page_field()

    def __init__(self, *args: Any, titles: Iterable[str], formulation: str, **more: Any) -> None:
        super().__init__(*args, **more)
        units = [("", "Not an amount of product"), *unit_choices(formulation)]
        self.fields["unit"].choices = units  # type: ignore[attr-defined]
        self.fields["direction"].choices = direction_choices(titles)  # type: ignore[attr-defined]


class FillTurnForm(forms.Form):
    """When the label itself says what goes into the tank before what."""

    limit = forms.ChoiceField(
        label="Its turn in the tank",
        choices=[(str(int(turn)), words) for turn, words in TURN_WORDS.items()],
        help_text="Without it the kind of product decides.",
        error_messages={"invalid_choice": "choose one of the six turns."},
    )
    direction = forms.ChoiceField(label="Direction", required=False)
    sentence = forms.CharField(
        label="The label's words",
        max_length=300,
        error_messages={"required": "copy the words of the label."},
    )
    page = page_field()

    def __init__(self, *args: Any, titles: Iterable[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["direction"].choices = direction_choices(titles)  # type: ignore[attr-defined]


class FirmRateForm(forms.Form):
    """Which rate is proposed."""

    choice = forms.ChoiceField(
        label="Proposed on every mix",
        choices=list(FIRM_RATE_WORDS.items()),
        help_text="A higher rate is the technician's own decision, with a reason.",
    )
