"""What is typed about an incident, its later entries and its notice."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from accounts.forms import day_field, row_field
from treatments.forms.stock import UNITS, Choices, ChoosingForm, amount_field
from treatments.rules.applications import Entered
from treatments.rules.incidents import (
    CARE_WORDS,
    INCIDENT_WORDS,
    STEP_WORDS,
    WAY_WORDS,
    MedicalCare,
    NewIncident,
    NewNotice,
)
from treatments.rules.local_times import moment

LocalNow = tuple[datetime, ZoneInfo]
KINDS = [(one.value, words) for one, words in INCIDENT_WORDS.items()]
STEPS = [(one.value, words) for one, words in STEP_WORDS.items()]
CARES = [(one.value, words) for one, words in CARE_WORDS.items()]
WAYS = [(one.value, words) for one, words in WAY_WORDS.items()]
LOST = dict.fromkeys(
    ("invalid", "required"), "This form has lost its number. Open this page again."
)


def reference_field() -> forms.UUIDField:
    """What tells a form sent twice from two forms."""
    return forms.UUIDField(
        widget=forms.HiddenInput, initial=uuid.uuid4, required=False, error_messages=LOST
    )


def words_field(label: str, rows: int = 3, **more: Any) -> forms.CharField:
    """Text of several lines."""
    return forms.CharField(label=label, widget=forms.Textarea(attrs={"rows": rows}), **more)


def clock_field(label: str, **more: Any) -> forms.TimeField:
    """A clock time at the branch."""
    return forms.TimeField(
        label=label,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={
            "required": "write the time.",
            "invalid": "write the time as 14:30.",
        },
        **more,
    )


class MomentForm(ChoosingForm):
    """A form with a day and a clock time that together name one moment."""

    moment_of = ""

    def __init__(
        self, *args: Any, clock: LocalNow, rows: Mapping[str, Choices] | None = None, **more: Any
    ) -> None:
        self.clock = clock
        local = clock[0].astimezone(clock[1])
        more["initial"] = {
            f"{self.moment_of}_on": local.date(),
            self.moment_of: local.time().replace(second=0, microsecond=0),
        } | more.get("initial", {})
        super().__init__(*args, rows=rows or {}, **more)

    def clean(self) -> dict[str, Any]:
        """Add `<name>_at`; an hour that never was is an error at the time."""
        cleaned: dict[str, Any] = super().clean() or {}
        day, at = cleaned.get(f"{self.moment_of}_on"), cleaned.get(self.moment_of)
        if day and at:
            cleaned[f"{self.moment_of}_at"] = moment(day, at, self.clock[1])
            if cleaned[f"{self.moment_of}_at"] is None:
                words = f"{at:%H:%M} was left out that day: the clocks were set forward."
                self.add_error(self.moment_of, words)
        return cleaned


class IncidentForm(MomentForm):
    """What happened; only kind, words and place are needed, the rest is added when known."""

    moment_of = "happened"
    first = ("kind", "what", "done")  # what the phone asks before anything else

    client_ref = reference_field()
    kind = forms.ChoiceField(
        label="What is it",
        choices=KINDS,
        widget=forms.RadioSelect,
        error_messages={"required": "choose one."},
    )
    what = words_field(
        "What happened",
        error_messages={"required": "say in a few words what happened."},
    )
    done = forms.MultipleChoiceField(
        label="Done so far", choices=STEPS, widget=forms.CheckboxSelectMultiple, required=False
    )
    happened_on = day_field("Day")
    happened = clock_field("Time")
    vehicle = row_field("Vehicle", required=False)
    where = forms.CharField(
        label="Where exactly", max_length=200, required=False, help_text="Where on the property."
    )
    whom = words_field(
        "Who is affected",
        rows=2,
        required=False,
        help_text="People and animals. Names are kept beside the report, never in the log.",
    )
    product = row_field("Product", required=False)
    records = forms.TypedMultipleChoiceField(
        label="Records it concerns",
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        required=False,
        error_messages={"invalid_choice": "choose from the list."},
    )
    amount = amount_field("How much", required=False)
    unit = forms.ChoiceField(label="Unit", choices=UNITS)
    done_words = words_field("What was done", rows=2, required=False)
    care = forms.ChoiceField(
        label="Medical care", choices=CARES, initial=MedicalCare.NOT_KNOWN.value, required=False
    )
    care_words = words_field(
        "About the care", rows=2, required=False, help_text="Who was called, what they said."
    )

    def __init__(self, *args: Any, rows: Mapping[str, Choices], **more: Any) -> None:
        super().__init__(*args, rows=rows, **more)
        for name in ("vehicle", "product"):
            self.fields[name].choices = [  # type: ignore[attr-defined]
                ("", "None"),
                *rows.get(name, ()),
            ]
        self.fields["records"].choices = list(rows.get("records", ()))  # type: ignore[attr-defined]
        if not rows.get("records"):
            del self.fields["records"]

    @property
    def rest(self) -> list[forms.BoundField]:
        """The fields that may wait."""
        return [one for one in self.visible_fields() if one.name not in self.first]

    def reported(self, *, property_id: int | None = None, visit_ref: str = "") -> NewIncident:
        """The report of a valid form."""
        entered = self.cleaned_data
        amount = entered["amount"]
        return NewIncident(
            client_ref=entered["client_ref"] or uuid.uuid4(),
            kind=entered["kind"],
            happened_at=entered["happened_at"],
            what=entered["what"],
            property_id=property_id,
            vehicle_id=entered["vehicle"],
            where=entered["where"],
            whom=entered["whom"],
            label_version_id=entered["product"],
            record_ids=tuple(entered.get("records", ())),
            amount=Entered(amount, entered["unit"]) if amount else None,
            done=tuple(entered["done"]),
            done_words=entered["done_words"],
            care=entered["care"] or MedicalCare.NOT_KNOWN.value,
            care_words=entered["care_words"],
            visit_ref=visit_ref,
        )


class EntryForm(forms.Form):
    """A later entry: its words."""

    client_ref = reference_field()
    words = words_field("What is to be kept", error_messages={"required": "write it down."})


class NoticeForm(MomentForm):
    """Which agency was told, when, by whom, how, under which number."""

    moment_of = "given"

    client_ref = reference_field()
    agency = forms.CharField(
        label="Agency",
        max_length=120,
        error_messages={"required": "write which agency was told."},
    )
    given_on = day_field("Day")
    given = clock_field("Time")
    given_by = row_field("Told by")
    way = forms.ChoiceField(label="How", choices=WAYS)
    reference = forms.CharField(
        label="Reference number", max_length=60, required=False, help_text="As the agency gave it."
    )
    words = words_field("What was said", rows=2, required=False)

    def told(self) -> NewNotice:
        """The notice of a valid form."""
        entered = self.cleaned_data
        return NewNotice(
            client_ref=entered["client_ref"] or uuid.uuid4(),
            agency=entered["agency"],
            given_at=entered["given_at"],
            given_by_id=entered["given_by"],
            way=entered["way"],
            reference=entered["reference"],
            words=entered["words"],
        )


class HoldForm(forms.Form):
    """Why a record is held, or held no longer."""

    reason = forms.CharField(
        label="Reason",
        max_length=200,
        help_text="A complaint, claim or inspection: which one.",
        error_messages={"required": "write why."},
    )
