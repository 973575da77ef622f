"""What is filled in or corrected in a record: only the shape; what may change is a rule."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from accounts.forms import row_field
from sites.rules.units import unit_word
from treatments.forms.stock import UNITS
from treatments.rules.applications import COMPASS, LONGEST
from treatments.rules.corrections import FIELD_WORDS, LONGEST_REASON, Value
from treatments.rules.leaves import instant
from treatments.rules.products import METHOD_WORDS
from treatments.selectors.entry_choices import EntryChoices

MINUTE = "%Y-%m-%dT%H:%M"
SPRAY = (("gal", "gal"), ("qt", "qt"), ("fl_oz", "fl oz"), ("L", "L"), ("mL", "mL"))
AMOUNTS = {"product_amount": (*UNITS, ("each", "each")), "finished_amount": SPRAY}
TIMES = ("started_at", "finished_at")
SAID_OF = {
    "wind_mph": "In mph.",
    "temperature_f": "In °F.",
    "conditions": "Dry, overcast.",
    "participants": "Full names.",
    "location_detail": "Only where the address is not enough.",
    "mixing_location": "Only where it was mixed away from the shop.",
}


def reason_field() -> forms.CharField:
    """Why; it stays in the log for good."""
    return forms.CharField(
        label="Reason",
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="It stays for good: write no names or addresses.",
        error_messages={"required": "write why."},
    )


class ReasonForm(forms.Form):
    """Only why."""

    reason = reason_field()


class EntryForm(forms.Form):
    """The chosen fields of a record with what they say now."""

    def __init__(
        self,
        *args: Any,
        said: Mapping[str, Value],
        names: Collection[str],
        choices: EntryChoices,
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        self._said, self._names, self._choices = said, names, choices
        for name in names:
            self._add(name)

    def _add(self, name: str) -> None:
        if name == "zones":
            self._add_zones()
        elif name in AMOUNTS:
            self._add_amount(name)
        else:
            self.fields[name] = _field(name, self._choices)
            self.initial[name] = self._shown(name)

    def _shown(self, name: str) -> Any:
        value = self._said[name]
        if name in TIMES:
            zone = ZoneInfo(self._choices.time_zone)
            return datetime.fromisoformat(str(value)).astimezone(zone).strftime(MINUTE)
        return value

    def _add_amount(self, name: str) -> None:
        text, _, unit = str(self._said[name]).rpartition(" ")
        self.fields[name] = _typed(FIELD_WORDS[name], 20, "decimal")
        units = forms.ChoiceField(label=f"Unit of {FIELD_WORDS[name].lower()}", required=False)
        units.choices = AMOUNTS[name]
        self.fields[f"{name}_unit"] = units
        self.initial[name] = text
        self.initial[f"{name}_unit"] = unit or AMOUNTS[name][0][0]

    def _add_zones(self) -> None:
        sizes = self._said["zones"]
        treated = sizes if isinstance(sizes, dict) else {}
        for key, zone, unit in self._choices.zones:
            label = f"{zone}, {unit_word(unit)}"
            self.fields[f"zone_{key}"] = _typed(label, 20, "decimal", "Empty: not treated.")
            self.initial[f"zone_{key}"] = treated.get(str(key), "").rpartition(" ")[0]

    def facts(self) -> dict[str, Value]:
        """What the form says, field by field; a time typed to the minute keeps its seconds."""
        return {name: self._fact(name) for name in self._names}

    def _fact(self, name: str) -> Value:
        if name == "zones":
            return self._sizes()
        typed = self.cleaned_data[name]
        if name in AMOUNTS:
            return f"{typed.strip()} {self.cleaned_data[f'{name}_unit']}" if typed.strip() else ""
        if name in TIMES:
            return self._time(name, typed)
        return sorted(typed) if name == "pests" else typed

    def _time(self, name: str, typed: datetime) -> Value:
        local = typed.replace(tzinfo=None)
        if local.strftime(MINUTE) == self.initial[name]:
            return self._said[name]
        return instant(local.replace(tzinfo=ZoneInfo(self._choices.time_zone)))

    def _sizes(self) -> dict[str, str]:
        typed = {
            str(key): (self.cleaned_data[f"zone_{key}"].strip(), unit)
            for key, _, unit in self._choices.zones
        }
        return {key: f"{size} {unit}" for key, (size, unit) in typed.items() if size}


class CorrectionForm(EntryForm):
    """Every field of a record, and why it is wrong."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, names=tuple(FIELD_WORDS), **more)
        self.fields["reason"] = reason_field()


class GapForm(EntryForm):
    """The fields of a record that are empty; `asked` names the rules that ask for some of them.

    The reference makes a second sending the same one.
    """

    def __init__(self, *args: Any, asked: Mapping[str, str], **more: Any) -> None:
        super().__init__(*args, **more)
        for name in asked.keys() & self.fields.keys():
            said = self.fields[name].help_text
            self.fields[name].help_text = f"{said} Asked by {asked[name]}.".strip()
        self.fields["client_ref"] = forms.UUIDField(widget=forms.HiddenInput)
        self.initial["client_ref"] = uuid.uuid4()


def _field(name: str, choices: EntryChoices) -> forms.Field:
    label = FIELD_WORDS[name]
    if name in TIMES:
        widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=MINUTE)
        return forms.DateTimeField(label=label, widget=widget, input_formats=[MINUTE])
    if name in ("direction", "applicator"):
        return _row(name, label, choices)
    if name == "method":
        return forms.ChoiceField(label=label, choices=list(METHOD_WORDS.items()))
    if name == "pests":
        widget_of_many = forms.SelectMultiple(attrs={"size": 6})
        return forms.MultipleChoiceField(
            label=label, choices=choices.pests, required=False, widget=widget_of_many
        )
    if name == "wind_direction":
        points = [("", "Not read"), *((point, point) for point in COMPASS)]
        return forms.ChoiceField(label=label, choices=points, required=False)
    if name == "protective_equipment_confirmed":
        return forms.BooleanField(label="Protective equipment was worn", required=False)
    if name == "notes":
        area = forms.Textarea(attrs={"rows": 3})
        return forms.CharField(label=label, max_length=4000, required=False, widget=area)
    keys = "decimal" if name in ("wind_mph", "temperature_f") else "text"
    return _typed(label, LONGEST.get(name, 80), keys, SAID_OF.get(name, ""))


def _row(name: str, label: str, choices: EntryChoices) -> forms.Field:
    field = row_field(label, required=name == "applicator")
    rows = choices.people if name == "applicator" else choices.directions
    field.choices = [*([] if field.required else [("", "No product")]), *rows]
    return field


def _typed(label: str, most: int, keys: str, help_text: str = "") -> forms.CharField:
    widget = forms.TextInput(attrs={"inputmode": keys, "autocomplete": "off"})
    return forms.CharField(
        label=label, max_length=most, required=False, widget=widget, help_text=help_text
    )
