"""What a caller asks for, as the office enters it while they talk."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import Choices, FilterForm
from scheduling.forms.office import day_field
from scheduling.models.days import WEEKDAYS

HOURS = (("", "Any hour"), ("am", "Before noon"), ("pm", "After noon"))
ANY_DAY = (("", "Any weekday"), *((str(number), f"{word}s") for number, word in WEEKDAYS))


class CustomerAsksForm(FilterForm):
    """Customer asks for: weekday, half of the day, technician, not before a day."""

    weekday = forms.TypedChoiceField(label="Weekday", choices=ANY_DAY, coerce=int, empty_value=None)
    half = forms.ChoiceField(label="Hours", choices=HOURS)
    technician = forms.TypedChoiceField(label="Technician", coerce=int, empty_value=None)
    from_day = day_field("Not before", required=False)
    on_holidays = forms.ChoiceField(
        label="Public holidays", choices=(("", "Left out"), ("1", "Offered too"))
    )

    def __init__(self, *args: Any, technicians: Choices, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("technician", "Anybody", technicians)
