"""What a technician enters about work without a product."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms

from scheduling.forms.field import LocalNow, refuse_backwards, take_moment
from scheduling.rules.local_clock import TIME_RULE
from treatments.rules.other_work import LONGEST_WORK, WORK_KIND_WORDS

ENDINGS = (
    ("another", "Save, more work follows at this stop"),
    ("finish", "Save and finish the stop"),
)
ROWS = dict[str, list[tuple[Any, str]]]


def _ticked(label: str, needed: str = "", **more: Any) -> forms.MultipleChoiceField:
    """Some of a list, each ticked; `needed` is said when none is."""
    return forms.MultipleChoiceField(
        label=label,
        widget=forms.CheckboxSelectMultiple,
        required=bool(needed),
        error_messages={"required": needed},
        **more,
    )


def _time(label: str, help_text: str = "") -> forms.TimeField:
    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    return forms.TimeField(label=label, widget=widget, help_text=help_text)


class OtherWorkForm(forms.Form):
    """Kinds, zones, pests, what was done, when; `offered` are the zones and pests to tick."""

    client_ref = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages=dict.fromkeys(
            ("invalid", "required"), "This form has lost its number. Open this page again."
        ),
    )
    kinds = _ticked("What kind of work", "tick at least one kind.")
    zones = _ticked("Where", "tick at least one zone.")
    pests = _ticked("Against", help_text="None ticked: no pest in particular.")
    pieces = forms.IntegerField(
        label="How many",
        required=False,
        min_value=1,
        max_value=100_000,
        help_text="Insects vacuumed, traps set, gaps closed. Empty: not counted.",
    )
    minutes = forms.IntegerField(
        label="Minutes of work", required=False, min_value=1, max_value=1440
    )
    length = forms.DecimalField(
        label="Length sealed", required=False, min_value=0, max_digits=7, decimal_places=2
    )
    length_unit = forms.ChoiceField(
        label="Length in", required=False, choices=[("ft", "feet"), ("m", "meters")]
    )
    done = forms.CharField(
        label="What was done",
        max_length=LONGEST_WORK,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What, how much, what was found: 2 traps set, 1 gap of 8 mm sealed.",
        error_messages={"required": "say what was done."},
    )
    started = _time("Started", TIME_RULE)
    finished = _time("Finished")
    notes = forms.CharField(
        label="Notes", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    ending = forms.ChoiceField(
        label="And then", choices=ENDINGS, initial="another", widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, clock: LocalNow, offered: ROWS, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.clock = clock
        kinds = [(kind.value, words) for kind, words in WORK_KIND_WORDS.items()]
        for name, rows in {"kinds": kinds, **offered}.items():
            self.fields[name].choices = rows  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("started", "finished"):
            take_moment(self, cleaned, name, self.clock)
        refuse_backwards(self, cleaned)
        return cleaned
