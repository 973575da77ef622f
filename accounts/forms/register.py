"""What people type into the register."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import Choices, day_field, row_field
from accounts.rules.register import PAPER_WORDS
from accounts.rules.register_entries import FIRM_PAPER_WORDS
from accounts.rules.training import BASIS_WORDS

REASON = "write why."


class TrainingForm(forms.Form):
    """The qualification of a noncertified applicator, as 40 CFR 171.201 asks for it."""

    basis = forms.ChoiceField(
        label="What qualified them", choices=[(one.value, w) for one, w in BASIS_WORDS.items()]
    )
    title = forms.CharField(
        label="Title or description",
        max_length=160,
        error_messages={"required": "write what the training was."},
    )
    met_on = day_field("Day of the training")
    valid_until = day_field(
        "Holds through",
        required=False,
        help_text="Empty: twelve months. A later day is not counted.",
    )
    trainer = forms.CharField(
        label="Trainer",
        max_length=120,
        error_messages={"required": "write who trained them."},
    )
    trainer_qualification = forms.CharField(
        label="The trainer's qualification",
        max_length=160,
        help_text="License with state and number, or the program.",
        error_messages={"required": "write what qualifies the trainer."},
    )
    signed_on = day_field(
        "Signed by the trainee on", required=False, help_text="Empty while it is not signed."
    )
    topics = forms.CharField(
        label="Topics and materials",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class CreditForm(forms.Form):
    """Credits of one course in one category."""

    course = forms.CharField(label="Course", max_length=160)
    provider = forms.CharField(label="Provider", max_length=120)
    evidence_number = forms.CharField(label="Number of the certificate", max_length=60)
    taken_on = day_field("Day of the course")
    state = forms.CharField(label="State", max_length=20, help_text="Two letters: OH.")
    category = forms.CharField(
        label="Category", max_length=40, help_text="One: a course in two is entered twice."
    )
    credits = forms.DecimalField(label="Credits", max_digits=5, decimal_places=2)


class CycleForm(forms.Form):
    """What a state wants between two days."""

    state = forms.CharField(label="State", max_length=20, help_text="Two letters: OH.")
    category = forms.CharField(
        label="Category",
        max_length=40,
        required=False,
        help_text="Empty: credits of every category count.",
    )
    starts_on = day_field("Begins on")
    ends_on = day_field("Ends on", help_text="The last day that counts.")
    credits_needed = forms.DecimalField(label="Credits wanted", max_digits=5, decimal_places=2)


class FirmPaperForm(forms.Form):
    """A business license or insurance as printed."""

    kind = forms.ChoiceField(
        label="Kind of paper", choices=[(one.value, w) for one, w in FIRM_PAPER_WORDS.items()]
    )
    number = forms.CharField(label="Number", max_length=60)
    issuer = forms.CharField(label="Issued by", max_length=120)
    insured_dollars = forms.IntegerField(
        label="Amount insured, dollars",
        required=False,
        min_value=0,
        max_value=10**12,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        help_text="Empty for a license.",
    )
    starts_on = day_field("In force from")
    ends_on = day_field("In force through", help_text="The last day it is in force.")


class NewFirmPaperForm(FirmPaperForm):
    """A paper and its branch."""

    branch = row_field("Branch")
    field_order = ("branch",)

    def __init__(self, *args: Any, branches: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = list(branches)  # type: ignore[attr-defined]


class _Because(forms.Form):
    reason = forms.CharField(
        label="Why it is corrected", max_length=200, error_messages={"required": REASON}
    )


class TrainingCorrection(TrainingForm, _Because):
    """A training as it should have been entered, and why."""


class CreditCorrection(CreditForm, _Because):
    """Credits as they should have been entered, and why."""


class CycleCorrection(CycleForm, _Because):
    """A cycle as it should have been entered, and why."""


class FirmPaperCorrection(FirmPaperForm, _Because):
    """A paper as it should have been entered, and why."""


class VoidForm(forms.Form):
    """Why an entry never counted."""

    reason = forms.CharField(
        label="Why it never counted", max_length=200, error_messages={"required": REASON}
    )


class RegisterFilter(forms.Form):
    """Which lines: of a branch, a kind, a person."""

    branch = row_field("Branch", required=False)
    kind = forms.ChoiceField(
        label="Kind",
        required=False,
        choices=[("", "Every kind"), *((one.value, w) for one, w in PAPER_WORDS.items())],
    )
    person = row_field("Person", required=False)

    def __init__(self, *args: Any, branches: Choices, people: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["branch"].choices = [("", "Every branch"), *branches]  # type: ignore[attr-defined]
        self.fields["person"].choices = [("", "Everybody"), *people]  # type: ignore[attr-defined]


class AsOfForm(forms.Form):
    """The day an inspector asks about."""

    on = day_field("In force on")
