"""What the office enters: bookings, reasons, hours and time off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.http import HttpRequest, QueryDict

from scheduling.models.days import WEEKDAYS
from scheduling.rules.visit_states import VISIT_KIND_WORDS, VisitKind
from sites.rules.places import choices

Choices = Iterable[tuple[Any, str]]
TIME_FORMATS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M%p", "%I %p", "%I%p")
MISSING = "this is needed."
OUT_OF_REACH = "choose a day between 2000 and 2099."
DAYS = (
    MinValueValidator(date(2000, 1, 1), OUT_OF_REACH),
    MaxValueValidator(date(2099, 12, 31), OUT_OF_REACH),
)
WITHOUT_RENEWAL = [pair for pair in choices(VISIT_KIND_WORDS) if pair[0] != VisitKind.RENEWAL]


def posted(request: HttpRequest) -> QueryDict | None:
    """What was sent with a post, even when it is empty; None binds no form."""
    return request.POST if request.method == "POST" else None


def day_field(label: str, **more: Any) -> forms.DateField:
    """A calendar day, picked or typed as 2026-11-12 or 11/12/2026."""
    return forms.DateField(
        label=label,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={
            "invalid": "write the day as 2026-11-12 or 11/12/2026.",
            "required": MISSING,
        },
        validators=DAYS,
        **more,
    )


def time_field(label: str, **more: Any) -> forms.TimeField:
    """An hour of the day, picked or typed as 13:30 or 1:30 PM."""
    return forms.TimeField(
        label=label,
        input_formats=TIME_FORMATS,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": "write the hour as 13:30 or 1:30 PM.", "required": MISSING},
        **more,
    )


class BookingForm(forms.Form):
    """Who comes, on which day, in which arrival window, for how long."""

    kind = forms.ChoiceField(label="Visit", choices=WITHOUT_RENEWAL)
    technician = forms.TypedChoiceField(
        label="Technician",
        coerce=int,
        error_messages={
            "invalid_choice": "choose one of the technicians of this list.",
            "required": MISSING,
        },
    )
    day = day_field("Day")
    window_opens = time_field("Arrival from", help_text="The window promised to the customer.")
    window_closes = time_field("Arrival until")
    minutes = forms.IntegerField(
        label="Minutes of work",
        min_value=5,
        max_value=720,
        error_messages={
            "invalid": "write whole minutes, 45 for example.",
            "min_value": "a visit takes 5 minutes or more.",
            "max_value": "a visit takes 720 minutes at most; book a second one.",
            "required": MISSING,
        },
    )
    note = forms.CharField(label="Note for the technician", max_length=300, required=False)

    def __init__(
        self, *args: Any, technicians: Choices, with_kind: bool = True, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["technician"].choices = list(technicians)  # type: ignore[attr-defined]
        if not with_kind:
            del self.fields["kind"]

    def clean(self) -> dict[str, Any]:
        entered = super().clean() or {}
        opens, closes = entered.get("window_opens"), entered.get("window_closes")
        if opens and closes and closes <= opens:
            self.add_error("window_closes", "the window must end after it begins.")
        return entered

    def booking(self) -> dict[str, Any]:
        """What was entered, as booking takes it."""
        entered = dict(self.cleaned_data)
        technician_id = entered.pop("technician")
        return entered | {"technician_id": technician_id}


class MoveForm(forms.Form):
    """The new place of a booked visit."""

    technician = forms.TypedChoiceField(
        label="Technician",
        coerce=int,
        error_messages={
            "invalid_choice": "choose one of the technicians of this list.",
            "required": MISSING,
        },
    )
    day = day_field("Day")
    window_opens = time_field("Arrival from", help_text="The window promised to the customer.")
    window_closes = time_field("Arrival until")

    def __init__(self, *args: Any, technicians: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["technician"].choices = list(technicians)  # type: ignore[attr-defined]

    def place(self) -> dict[str, Any]:
        """What was entered, as moving takes it."""
        entered = dict(self.cleaned_data)
        technician_id = entered.pop("technician")
        return entered | {"technician_id": technician_id}


class ReasonForm(forms.Form):
    """Why something is declined or canceled."""

    reason = forms.CharField(
        label="Why",
        max_length=300,
        help_text="In the customer's words where you can; it stays with the row.",
        error_messages={"required": "say why in a few words."},
    )


class ShiftForm(forms.Form):
    """One weekday's hours; an empty start is a day without work."""

    works = forms.BooleanField(label="Works", required=False)
    starts = time_field("Starts", required=False)
    ends = time_field("Ends", required=False)
    lunch_from = time_field("Lunch from", required=False)
    lunch_until = time_field("Lunch starts by", required=False)
    lunch_minutes = forms.IntegerField(
        label="Lunch, minutes", required=False, min_value=0, max_value=180
    )

    def __init__(self, *args: Any, weekday: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs | {"prefix": f"d{weekday}"})
        self.weekday = weekday
        self.day_name = dict(WEEKDAYS)[weekday]
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{self.day_name}, {str(field.label).lower()}"

    def clean(self) -> dict[str, Any]:
        entered = super().clean() or {}
        if entered.get("works"):
            for name in ("starts", "ends", "lunch_from", "lunch_until", "lunch_minutes"):
                if name not in self.errors and entered.get(name) is None:
                    self.add_error(name, "fill this in, or clear the check mark of the day.")
        return entered


class TimeOffForm(forms.Form):
    """Whole days away."""

    starts_on = day_field("First day away")
    ends_on = day_field("Last day away")
    reason = forms.CharField(label="Reason", max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        entered = super().clean() or {}
        first, last = entered.get("starts_on"), entered.get("ends_on")
        if first and last and last < first:
            self.add_error("ends_on", "the last day is on or after the first day.")
        return entered
