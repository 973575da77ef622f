"""What people type about devices: the office about where they are, technicians about a round."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from scheduling.forms.field import MASS_UNITS, LocalNow, refuse_backwards, take_moment
from scheduling.rules.local_clock import TIME_RULE
from sites.rules.devices.words import EATEN_WORDS, KIND_WORDS, REMOVAL_WORDS, Outcome

Choices = Iterable[tuple[Any, str]]
MOST_MM = 10_000_000
COUNT_ROWS = 3
SKIP = "skip_"  # before the key of a device that was not checked
LOST_NUMBER = dict.fromkeys(
    ("invalid", "required"), "This form has lost its number. Open this page again."
)
FOUND = (
    (Outcome.ACTIVITY.value, "Activity"),
    (Outcome.NO_ACTIVITY.value, "No activity"),
    (Outcome.MISSING.value, "The device is missing"),
    (Outcome.NO_ACCESS.value, "No access to it"),
)
EATEN = [("", "Not judged"), *((str(part), words) for part, words in EATEN_WORDS.items())]
EATEN_FROM = [("", "Not looked at"), *((str(part), EATEN_WORDS[part]) for part in (1, 2, 3, 4))]
KINDS = [("", "Choose"), *((one.value, words) for one, words in KIND_WORDS.items())]


def _ref() -> forms.UUIDField:
    return forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=LOST_NUMBER)


def _mm(label: str, least: int = -MOST_MM) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, min_value=least, max_value=MOST_MM)


def _pieces(label: str, most: int = 999) -> forms.IntegerField:
    pad = forms.NumberInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(label=label, required=False, min_value=0, max_value=most, widget=pad)


def _part(label: str, choices: Sequence[tuple[str, str]], help_text: str = "") -> Any:
    return forms.TypedChoiceField(
        label=label,
        choices=choices,
        coerce=int,
        empty_value=None,
        required=False,
        help_text=help_text,
    )


class SpotForm(forms.Form):
    """Where a device is, in words, in a zone and on the plan, and what it holds."""

    place = forms.CharField(
        label="Place in words", max_length=120, help_text="Store room, left of the dock door"
    )
    zone = row_field("Zone", required=False)
    holds = forms.CharField(
        label="Product in it", max_length=120, required=False, help_text="Empty: none."
    )
    wall = forms.CharField(
        label="On the plan: wall", max_length=60, required=False, help_text="North wall"
    )
    offset_mm = _mm("Along that wall, mm", 0)
    x_mm = _mm("Or across the plan, mm")
    y_mm = _mm("and up the plan, mm")
    turn = forms.IntegerField(
        label="Turn in the round",
        required=False,
        min_value=1,
        max_value=9999,
        help_text="Empty: its number.",
    )

    def __init__(self, *args: Any, zones: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["zone"].choices = [("", "No zone"), *zones]  # type: ignore[attr-defined]


class DevicesForm(SpotForm):
    """Several devices of one kind at once."""

    numbers = forms.CharField(
        label="Numbers", max_length=200, help_text="1-12, 14. A number is never used again."
    )
    kind = forms.ChoiceField(label="Kind", choices=KINDS)
    placed_on = day_field("Placed on")
    turn = None  # type: ignore[assignment]
    field_order = ("numbers", "kind", "placed_on", "place", "zone", "holds")


class RemovalForm(forms.Form):
    """When and why a device was taken away."""

    removed_on = day_field("Removed on")
    reason = forms.ChoiceField(
        label="Why",
        choices=[("", "Choose"), *((one.value, words) for one, words in REMOVAL_WORDS.items())],
    )
    note = forms.CharField(label="Note", max_length=200, required=False)


class ThresholdForm(forms.Form):
    """From what a device of a kind is over."""

    kind = forms.ChoiceField(label="Kind of device", choices=KINDS)
    pest = row_field("Pest", required=False)
    count_from = forms.IntegerField(
        label="This many or more of a pest",
        required=False,
        min_value=1,
        max_value=9999,
        help_text="In one device at one check. Empty: not looked at.",
    )
    eaten_from = _part("This much of the bait or more", EATEN_FROM)

    def __init__(self, *args: Any, pests: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pest"].choices = [("", "Every other pest"), *pests]  # type: ignore[attr-defined]


class TrendForm(forms.Form):
    """Which device and pest a trend is of; what cannot be read is left out."""

    device = row_field("Device", required=False)
    pest = row_field("Pest", required=False)

    def __init__(self, *args: Any, devices: Choices, pests: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["device"].choices = [("", "Every device"), *devices]  # type: ignore[attr-defined]
        self.fields["pest"].choices = [("", "Every pest"), *pests]  # type: ignore[attr-defined]


class CheckForm(forms.Form):
    """What was found at one device; `left_out` are the fields of bait it does not hold."""

    client_ref = _ref()
    outcome = forms.ChoiceField(
        label="What was found",
        choices=FOUND,
        widget=forms.RadioSelect,
        initial=Outcome.ACTIVITY.value,
        error_messages={"required": "say what was found."},
    )
    eaten = _part("Bait eaten", EATEN)
    bait = forms.ChoiceField(label="Bait added", required=False)
    pieces = _pieces("Pieces added")
    each = forms.CharField(
        label="Amount of one piece",
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    unit = forms.ChoiceField(
        label="Unit", choices=(*MASS_UNITS, ("each", "each (counted)")), required=False
    )
    spoiled = _pieces("Pieces spoiled and taken out")
    removed = _pieces("Other pieces taken out")
    is_damaged = forms.BooleanField(label="The device is damaged", required=False)
    note = forms.CharField(label="Note", max_length=400, required=False)

    halves: tuple[str, ...] = ("pieces", "unit", "each", "spoiled", "removed")
    of_adding = ("bait", "pieces", "each", "unit")
    of_bait = (*of_adding, "eaten", "spoiled", "removed")

    def __init__(
        self,
        *args: Any,
        pests: Choices,
        baits: Choices,
        left_out: Iterable[str] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        offered = [("", "None"), *pests]
        for row in range(1, COUNT_ROWS + 1):
            self.fields[f"pest_{row}"] = row_field("Pest", required=False, choices=offered)
            self.fields[f"count_{row}"] = _pieces("How many", 9999)
        self.fields["bait"].choices = [("", "None"), *baits]  # type: ignore[attr-defined]
        for name in left_out:
            del self.fields[name]
        counts = [f"{name}_{row}" for row in range(1, COUNT_ROWS + 1) for name in ("pest", "count")]
        self.halves = (*self.halves, *counts)
        self.order_fields(["outcome", *counts])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["counts"] = tuple(self._counts(cleaned))
        self._refuse_half_bait(cleaned)
        return cleaned

    def _refuse_half_bait(self, cleaned: dict[str, Any]) -> None:
        """Bait is bait, pieces and amount; what the form began with says nothing by itself."""
        pieces, each, bait = (cleaned.get(name) for name in ("pieces", "each", "bait"))
        if (pieces and not each) or (bait and not pieces and "bait" in self.changed_data):
            self.add_error("pieces", "say how many pieces were added, and how much one is.")
        if not bait and (pieces or (each and "each" in self.changed_data)):
            self.add_error("bait", "choose the bait that was added.")

    def _counts(self, cleaned: dict[str, Any]) -> Iterable[tuple[int, int]]:
        for row in range(1, COUNT_ROWS + 1):
            pest, number = cleaned.get(f"pest_{row}"), cleaned.get(f"count_{row}")
            if number and pest is None:
                self.add_error(f"pest_{row}", "choose what was counted.")
            elif pest is not None and not number:
                self.add_error(f"count_{row}", "count it, 1 or more.")
            elif pest is not None and number:
                yield pest, number


class SkippedForm(forms.Form):
    """Why each device that is left was not checked; `left` are key and words."""

    def __init__(self, *args: Any, left: Iterable[tuple[int, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for pk, words in left:
            self.fields[f"{SKIP}{pk}"] = forms.CharField(
                label=words,
                max_length=400,
                error_messages={"required": "say why it was not checked."},
            )
            self.fields[f"ref_{pk}"] = _ref()

    @property
    def reasons(self) -> list[tuple[int, uuid.UUID, str]]:
        """Device, reference and reason of each; after the form was found valid."""
        keys = [int(name.removeprefix(SKIP)) for name in self.fields if name.startswith(SKIP)]
        said = self.cleaned_data
        return [(pk, said[f"ref_{pk}"], said[f"{SKIP}{pk}"]) for pk in keys]


class BaitForm(forms.Form):
    """What the record of a round's bait needs besides the checks; `lots` are those aboard."""

    lot = forms.ChoiceField(label="Taken from lot", required=False, help_text="Of the lots aboard.")
    zones = forms.MultipleChoiceField(
        label="Zones",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "tick at least one zone."},
    )
    pests = forms.MultipleChoiceField(
        label="Against", widget=forms.CheckboxSelectMultiple, required=False
    )
    started = forms.TimeField(
        label="Started",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=TIME_RULE,
    )
    finished = forms.TimeField(
        label="Finished", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    protective_equipment = forms.BooleanField(
        label="I wore what the label asks for", required=False
    )
    notes = forms.CharField(
        label="Notes", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self,
        *args: Any,
        clock: LocalNow,
        lots: Choices,
        zones: Choices,
        pests: Choices,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.clock = clock
        self.fields["lot"].choices = list(lots)  # type: ignore[attr-defined]
        if not lots:
            del self.fields["lot"]
        self.fields["zones"].choices = list(zones)  # type: ignore[attr-defined]
        self.fields["pests"].choices = list(pests)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("started", "finished"):
            take_moment(self, cleaned, name, self.clock)
        refuse_backwards(self, cleaned)
        return cleaned
