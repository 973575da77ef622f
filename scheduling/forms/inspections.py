"""What is entered about findings, tasks and their endings."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms

from sites.forms import PhotosField
from sites.rules.checkpoints import CHECKPOINT_CHOICES
from sites.rules.exclusion import ENDING_WORDS
from sites.rules.findings import (
    CLOSING_WORDS,
    CONDITION_WORDS,
    KIND_WORDS,
    LONGEST_NOTE,
    SEVERITY_WORDS,
    Severity,
)
from sites.rules.gaps import SHAPE_WORDS
from sites.rules.places import choices
from sites.rules.sealing import (
    DOES_WORDS,
    INSIDE_WORDS,
    LIVE_QUESTION,
    MATERIAL_WORDS,
    MEASURE_WORDS,
    OPENING_WORDS,
    Measure,
)

LOST = "This form has lost its number. Open this page again."
Rows = Sequence[tuple[str, str]]


def _ref() -> forms.UUIDField:
    said = {"invalid": LOST, "required": LOST}
    return forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=said)


def _words(label: str, most: int = 300, rows: int = 2) -> forms.CharField:
    area = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label=label, max_length=most, required=False, widget=area)


def _radio(label: str, words: Any, **more: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices(words), widget=forms.RadioSelect, **more)


class RoundForm(forms.Form):
    """Checkpoints that were looked at without finding anything."""

    checkpoints = forms.MultipleChoiceField(choices=CHECKPOINT_CHOICES, required=False)
    words = _words("Summary for the report", LONGEST_NOTE)


class FindingForm(forms.Form):
    """One finding; only what its kind needs has to be filled in."""

    client_ref = _ref()
    checkpoint = forms.ChoiceField(label="Checkpoint", choices=CHECKPOINT_CHOICES)
    kind = _radio("What was found", KIND_WORDS)
    severity = _radio("How soon", SEVERITY_WORDS, initial=Severity.SOON)
    pest = forms.ChoiceField(label="Pest", required=False)
    condition = forms.ChoiceField(
        label="Condition", required=False, choices=[("", "None"), *CONDITION_WORDS.items()]
    )
    gap = forms.CharField(
        label="Gap",
        max_length=20,
        required=False,
        help_text="An entry point is measured: 4.5, or 3/16 in inches.",
    )
    gap_unit = forms.ChoiceField(label="Measured in", choices=[("mm", "mm"), ("in", "inches")])
    gap_shape = forms.ChoiceField(label="Shape", choices=choices(SHAPE_WORDS))
    opening = forms.ChoiceField(label="What the opening is for", choices=choices(OPENING_WORDS))
    where = forms.CharField(
        label="Where exactly",
        max_length=120,
        required=False,
        help_text="North side, by the meter. Naming a wall puts it on the plan: north wall, 12 ft.",
    )
    note = _words("Note", LONGEST_NOTE)
    photos = PhotosField()

    def __init__(self, *args: Any, pests: Rows, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["pest"].choices = [("", "Not named"), *pests]  # type: ignore[attr-defined]


class TaskForm(forms.Form):
    """A task about a finding; only measures that may be taken at its opening are offered."""

    client_ref = _ref()
    measure = forms.ChoiceField(label="What is done")
    material = forms.ChoiceField(label="With", choices=choices(MATERIAL_WORDS), initial="none")
    does = _radio("Who does it", DOES_WORDS, initial="firm")
    due_on = forms.DateField(
        label="Done by", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    price = forms.DecimalField(
        label="Price in dollars",
        required=False,
        max_digits=9,
        decimal_places=2,
        help_text="Empty: not priced.",
    )
    words = _words("Words for who does it")

    def __init__(self, *args: Any, measures: Sequence[Measure], due: date, **more: Any) -> None:
        super().__init__(*args, **more)
        offered = [(one.value, MEASURE_WORDS[one]) for one in measures]
        self.fields["measure"].choices = offered  # type: ignore[attr-defined]
        self.fields["due_on"].initial = due


class EndTaskForm(forms.Form):
    """How a task ended."""

    client_ref = _ref()
    kind = _radio("How it ends", ENDING_WORDS, initial="done")
    inside = _radio(LIVE_QUESTION, INSIDE_WORDS, required=False)
    words = _words("Words")
    photos = PhotosField()

    def __init__(self, *args: Any, asks: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        if not asks:
            self.fields["inside"].help_text = "Only where animals may live behind it."


class CloseFindingForm(forms.Form):
    """What became of a finding."""

    kind = _radio("What became of it", CLOSING_WORDS)
    words = _words("Words")


class TaskListForm(forms.Form):
    """Which tasks are shown."""

    show = forms.ChoiceField(label="Show", required=False)

    def __init__(self, *args: Any, views: dict[str, str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["show"].choices = list(views.items())  # type: ignore[attr-defined]


class BeginForm(forms.Form):
    """Beginning a round."""

    client_ref = _ref()
