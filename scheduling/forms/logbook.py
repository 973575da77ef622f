"""What people type into a site logbook, at the firm and at the customer's."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from sites.rules.sightings import HOW_MANY_WORDS

Choices = Iterable[tuple[Any, str]]
SIDES = [("customer", "The customer"), ("firm", "We")]
REQUIRED = {"required": "type this."}
CHOOSE = {"required": "choose one.", "invalid_choice": "choose one of the list."}


def _line(label: str, most: int, help_text: str = "", **more: Any) -> forms.CharField:
    """One line; its service says what is too long."""
    return forms.CharField(
        label=label, max_length=most, help_text=help_text, error_messages=REQUIRED, **more
    )


def _paragraph(label: str, most: int, rows: int, help_text: str = "") -> forms.CharField:
    area = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(
        label=label, max_length=most, widget=area, help_text=help_text, error_messages=REQUIRED
    )


class SightingForm(forms.Form):
    """What somebody at the property saw; `once` makes the same form sent twice one sighting."""

    what = _line("What did you see?", 200, "A large dark cockroach, mouse droppings, a wasp nest.")
    spot = _line("Where in the building?", 160, "Floor, room, and where in it.")
    seen_on = day_field("Which day?")
    seen_at = _line("About what time", 40, required=False)
    how_many = forms.ChoiceField(
        label="How many?",
        choices=[("", "Choose"), *((one.value, words) for one, words in HOW_MANY_WORDS.items())],
        error_messages=CHOOSE,
    )
    name = _line("Your name", 80, "Seen by the firm only.", required=False)
    once = forms.UUIDField(
        widget=forms.HiddenInput, error_messages={"required": "open this page again."}
    )


class CodeSightingForm(SightingForm):
    """The same with the code that stands in the logbook."""

    code = _line(
        "Code from the logbook",
        40,
        "Ten letters and digits.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    field_order = ("code",)


class AnswerForm(forms.Form):
    """What was done about a sighting, and on which visit or record."""

    note = _paragraph("What was done", 1000, 4, "The customer reads this. No names of customers.")
    done_in = forms.ChoiceField(label="Visit or record", error_messages=CHOOSE)

    def __init__(self, *args: Any, named: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["done_in"].choices = [("", "Choose"), *named]  # type: ignore[attr-defined]

    @property
    def words(self) -> str:
        """The chosen visit or record in words."""
        chosen = dict(self.fields["done_in"].choices)  # type: ignore[attr-defined]
        return str(chosen.get(self.cleaned_data["done_in"], ""))


class PlanForm(forms.Form):
    """Another version of the plan."""

    text = _paragraph("Plan", 20_000, 16, "The version before is kept.")
    written_by = _line("Written by", 120)
    written_on = day_field("Written on")


class ReviewForm(forms.Form):
    """A look back over the year, and when the next one is due."""

    reviewed_on = day_field("Reviewed on")
    reviewed_by = _line("Who reviewed", 200, "For the firm and for the customer.")
    notes = _paragraph("What was found", 4000, 8)
    next_due = day_field("Next review due")


class ActionForm(forms.Form):
    """Something that must be put right against pests."""

    what = _line("What must be put right", 300, "The door of the loading dock does not close.")
    spot = _line("Where", 160)
    side = forms.ChoiceField(label="Who puts it right", choices=SIDES, error_messages=CHOOSE)
    asked_on = day_field("Asked on")
    due_on = day_field("Due on", required=False)


class StepForm(forms.Form):
    """What was done about it."""

    note = _line("What was done", 300)
    done_on = day_field("On")
    is_done = forms.BooleanField(label="It is put right", required=False)


class LinkForm(forms.Form):
    """Who gets the link and until when."""

    contact = row_field("Contact")
    last_day = day_field("Last day", help_text="At most 400 days ahead.")

    def __init__(self, *args: Any, contacts: Choices, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["contact"].choices = [("", "Choose"), *contacts]  # type: ignore[attr-defined]
