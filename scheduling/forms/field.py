"""What a technician enters at a stop."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.http import QueryDict

from scheduling.forms.rule_fields import RuleFields
from scheduling.rules.local_clock import TIME_RULE, last_time
from sites.rules.units import celsius_to_fahrenheit, meters_per_second_to_mph, plain
from treatments.rules.wall_runs import LEFT_OUT_WORDS
from treatments.selectors.asked import AskedItems

LIQUID_UNITS = (("fl_oz", "fl oz"), ("mL", "mL"), ("gal", "gal"), ("L", "L"))
COUNTED_UNITS = (("each", "each (blocks, stations)"),)
MASS_UNITS = (("g", "g"), ("oz_wt", "oz (wt)"), ("lb", "lb"), ("kg", "kg"))
FINISHED_UNITS = (("gal", "gal"), ("L", "L"), ("fl_oz", "fl oz"))
ENDINGS = (
    ("finish", "Save and finish the stop"),
    ("another", "Save, another product follows"),
    ("rest", "Save, another load of the same follows"),
)
RUN, DONE = "run_", "done"  # before the key of a wall run; the answer that it was treated
RUN_ANSWERS = (
    ("", "Choose"),
    (DONE, "Treated"),
    *((one.value, f"Left out: {words}") for one, words in LEFT_OUT_WORDS.items()),
)
NOT_DONE_REASONS = (
    ("nobody home", "Nobody home"),
    ("locked", "Locked"),
    ("animal loose", "Animal loose"),
    ("refused by the customer", "Refused by the customer"),
    ("not prepared", "Not prepared"),
    ("weather", "Weather"),
    ("unsafe", "Unsafe"),
    ("no product on the truck", "No product on the truck"),
    ("wrong day", "Wrong day"),
)
LONGEST_KEY = 18  # digits that fit the 64 bits of a key
Choices = Iterable[tuple[Any, str]]
LocalNow = tuple[datetime, ZoneInfo]


def whole_numbers(texts: Sequence[str]) -> tuple[int, ...]:
    """Read keys from an address or a form, each once; whatever no key can be is left out."""
    keys = (
        int(text)
        for text in texts
        if text.isascii() and text.isdigit() and len(text) <= LONGEST_KEY
    )
    return tuple(dict.fromkeys(keys))


def safety_answers(typed: QueryDict, ask: str) -> tuple[tuple[str, str], ...]:
    """Read what was answered to the safety questions, by code; what is empty is no answer.

    `ask` is what stands before a code; the last of several answers to one question counts.
    """
    return tuple(
        (name.removeprefix(ask), answer.strip())
        for name, answer in typed.items()
        if name.startswith(ask) and isinstance(answer, str) and answer.strip()
    )


def take_moment(form: forms.Form, cleaned: dict[str, Any], name: str, clock: LocalNow) -> None:
    """Add `name`_at, the moment a typed time means; an hour that never was is an error there."""
    typed = cleaned.get(name)
    if typed is None:
        return
    cleaned[f"{name}_at"] = last_time(typed, *clock)
    if cleaned[f"{name}_at"] is None:
        form.add_error(name, f"{typed:%H:%M} was left out: the clocks were set forward.")


def refuse_backwards(form: forms.Form, cleaned: dict[str, Any]) -> None:
    """An end before its beginning is an error at the end."""
    started, finished = cleaned.get("started_at"), cleaned.get("finished_at")
    if started and finished and finished < started:
        form.add_error(
            "finished",
            f"Finished {finished:%H:%M} is before started {started:%H:%M}. Put the true times.",
        )


class ChoiceOfUse(forms.Form):
    """Direction for use, method, rate, equipment and measure; zones and pests are ticked."""

    use = forms.ChoiceField(label="Direction for use")
    method = forms.ChoiceField(label="Method")
    rate = forms.ChoiceField(label="Rate")
    reason = forms.CharField(
        label="Why a high rate",
        max_length=200,
        required=False,
        help_text="Only for the high rate or the maximum; it goes into the record.",
    )
    equipment = forms.ChoiceField(
        label="Equipment",
        required=False,
        help_text="Its tank and measured output; else the label's gallons are assumed.",
    )
    tank = forms.CharField(label="Tank", widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    measure = forms.ChoiceField(
        label="Measure", required=False, help_text="Amounts are rounded down to its marks."
    )
    also = forms.ChoiceField(
        label="Also in this tank",
        required=False,
        help_text="Another product in the same spray, at the rate your firm proposes. "
        "Each gets its own record.",
    )
    supervisor = forms.ChoiceField(
        label="Certified applicator who supervises",
        required=False,
        help_text="Restricted use: name who supervises today before you mix.",
    )

    def __init__(
        self, *args: Any, offered: Mapping[str, Choices], spray_unit: str = "gal", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tank"].label = f"Tank, {spray_unit}"
        for name, choices in offered.items():
            self.fields[name].choices = list(choices)  # type: ignore[attr-defined]


class RecordForm(RuleFields):
    """What was really put down: one reading of product and finished spray, times, weather.

    `asked` is what the rules ask of this job; without it every field stands.
    """

    # fields that share a line with their neighbor on the phone
    halves: tuple[str, ...] = (
        *("product_amount", "product_unit", "finished_amount", "finished_unit"),
        *("started", "finished", "wind_mph", "temperature_f", "wind_direction", "conditions"),
    )
    client_ref = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages=dict.fromkeys(
            ("invalid", "required"), "This form has lost its number. Open this page again."
        ),
    )
    load = forms.CharField(
        label="From a load on board",
        required=False,
        widget=forms.Select,
        help_text="Then type only the finished spray; the product follows from it.",
    )
    product_amount = forms.CharField(
        label="Product used, undiluted",
        max_length=20,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="What you really used, as read on the measure.",
    )
    product_unit = forms.ChoiceField(
        label="Unit of the product", choices=(*LIQUID_UNITS, *MASS_UNITS, *COUNTED_UNITS)
    )
    finished_amount = forms.CharField(
        label="Finished spray used",
        max_length=20,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="Leave empty for a product used unmixed.",
        error_messages={"required": "write the finished spray you put out of the load."},
    )
    finished_unit = forms.ChoiceField(label="Unit of the spray", choices=FINISHED_UNITS)
    started = forms.TimeField(
        label="Started",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=TIME_RULE,
    )
    finished = forms.TimeField(
        label="Finished", widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    wind_mph = forms.DecimalField(
        label="Wind, mph",
        required=False,
        min_value=0,
        max_value=150,
        help_text="Empty: not measured.",
    )
    temperature_f = forms.DecimalField(
        label="Air temperature, °F", required=False, min_value=-60, max_value=140
    )
    weather_source = forms.CharField(
        label="Measured with", max_length=80, required=False, help_text="Your meter, and when."
    )
    equipment = forms.CharField(
        label="Equipment", max_length=80, required=False, help_text="1-gal hand can, fan nozzle"
    )
    protective_equipment = forms.BooleanField(
        label="I wore what the label asks for", required=False
    )
    notes = forms.CharField(
        label="Notes, and what was not treated and why",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    ending = forms.ChoiceField(
        label="And then", choices=ENDINGS, initial="finish", widget=forms.RadioSelect
    )

    field_order = (
        *("client_ref", "load", "product_amount", "product_unit", "finished_amount"),
        *("finished_unit", "started", "finished", "wind_mph", "wind_m_s", "temperature_f"),
        *("temperature_c", "wind_direction", "conditions", "weather_source", "equipment"),
        *("product_supplier", "mixing_location", "location_detail", "participants", "supervisor"),
        *("protective_equipment", "notes", "ending"),
    )

    def __init__(
        self,
        *args: Any,
        clock: LocalNow,
        loads: Choices = (),
        runs: Sequence[tuple[int, str]] = (),
        supervisors: tuple[Choices, int | None] | None = None,
        asked: AskedItems | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.clock = clock
        if asked is not None:
            self.keep_asked(asked)
        self._ask_supervisor(supervisors)
        self._ask_runs(runs)
        named, offered = self.data.get("load", ""), list(loads)
        self.fields["product_amount"].required = not named
        self.fields["finished_amount"].required = bool(named)
        if not offered and not named:
            del self.fields["load"]
            return
        self.fields["load"].widget.choices = [("", "No load"), *offered]

    def _ask_supervisor(self, supervisors: tuple[Choices, int | None] | None) -> None:
        """Who supervises, where restricted use needs somebody certified."""
        if supervisors is None:
            return
        offered, proposed = supervisors
        self.fields["supervisor"] = forms.TypedChoiceField(
            label="Certified applicator who supervises",
            choices=[("", "Nobody"), *offered],
            coerce=int,
            empty_value=None,
            required=False,
            initial=proposed,
            help_text="Restricted use (40 CFR 171.201). Nobody named is recorded as a violation.",
        )

    def _ask_runs(self, runs: Sequence[tuple[int, str]]) -> None:
        """Each wall run of the zones: treated, or why not; they stand before everything else."""
        self.run_names = tuple(f"{RUN}{pk}" for pk, _ in runs)
        for pk, words in runs:
            self.fields[f"{RUN}{pk}"] = forms.ChoiceField(
                label=words,
                choices=RUN_ANSWERS,
                error_messages={"required": "say whether it was treated."},
            )
        self.order_fields([*self.run_names, *self.field_order])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("started", "finished"):
            take_moment(self, cleaned, name, self.clock)
        refuse_backwards(self, cleaned)
        cleaned["left_out"] = {
            int(name.removeprefix(RUN)): cleaned[name]
            for name in self.run_names
            if cleaned.get(name, DONE) != DONE
        }
        return cleaned


class MetricRecordForm(RecordForm):
    """The record of a branch with metric units; wind and air come out as they are stored."""

    halves = (*RecordForm.halves, "wind_m_s", "temperature_c")
    wind_mph = None  # type: ignore[assignment]
    temperature_f = None  # type: ignore[assignment]
    wind_m_s = forms.DecimalField(
        label="Wind, m/s",
        required=False,
        min_value=0,
        max_value=67,
        help_text="Empty: not measured.",
    )
    temperature_c = forms.DecimalField(
        label="Air temperature, °C", required=False, min_value=-51, max_value=60
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        wind, air = cleaned.pop("wind_m_s", None), cleaned.pop("temperature_c", None)
        cleaned["wind_mph"] = None if wind is None else _stored(meters_per_second_to_mph(wind))
        cleaned["temperature_f"] = None if air is None else _stored(celsius_to_fahrenheit(air))
        return cleaned


def _stored(value: Decimal) -> Decimal:
    """Two decimals at most, as a reading is stored."""
    return Decimal(plain(value.quantize(Decimal("0.01"))))


class NotDoneForm(forms.Form):
    """Why a stop ends without its work."""

    reason = forms.ChoiceField(label="What was in the way", choices=NOT_DONE_REASONS)
    note = forms.CharField(label="Note for the office", max_length=200, required=False)


class MeasuredWaterForm(forms.Form):
    """How far the nearest water is."""

    distance_ft = forms.DecimalField(
        label="Nearest water, ft",
        max_digits=9,
        decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )
