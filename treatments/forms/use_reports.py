"""What a report of what was used is about: GET forms whose choices live in the address."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from accounts.forms import Choices, FilterForm, day_field
from accounts.rules.day_words import MONTHS
from treatments.rules.use_reports import BY_CHOICES, PERIOD_CHOICES

YEARS_BACK = 10  # further back than any record is kept by the rules we know
NOT_NARROWING = ("since", "until", "year", "month", "period", "by")
NOT_A_ZIP = "write the five digits."


@dataclass(frozen=True)
class Offered:
    """What there is to choose from."""

    branches: Choices
    states: Iterable[str]
    counties: Iterable[str] = ()
    products: Iterable[str] = ()
    applicators: Choices = ()


class ReportForm(FilterForm):
    """A branch and a state; the narrower forms add a period."""

    branch = forms.TypedChoiceField(label="Branch", coerce=int, empty_value=None)
    state = forms.ChoiceField(label="State")

    def __init__(self, *args: Any, offered: Offered, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("branch", "Every branch", offered.branches)
        self.offer("state", "Every state", [(one, one) for one in offered.states])

    def in_words(self) -> dict[str, str]:
        """What the rows are narrowed to, by the field's label, as people read it."""
        narrowed = (name for name in self.wanted() if name not in NOT_NARROWING)
        return {str(self.fields[name].label): self._word(name) for name in narrowed}

    def _word(self, name: str) -> str:
        value = self.cleaned_data[name]
        return str(dict(getattr(self.fields[name], "choices", ())).get(value, value))


class YearForm(ReportForm):
    """A calendar year."""

    year = forms.TypedChoiceField(label="Year", coerce=int, empty_value=None)
    field_order = ("year", "month", "branch", "state")

    def __init__(self, *args: Any, today: date, **kw: Any) -> None:
        super().__init__(*args, **kw)
        years = range(today.year, today.year - YEARS_BACK, -1)
        self.fields["year"].choices = [(one, str(one)) for one in years]  # type: ignore[attr-defined]


class MonthForm(YearForm):
    """A month of a year."""

    month = forms.TypedChoiceField(
        label="Month",
        coerce=int,
        empty_value=None,
        choices=[(number, word) for number, word in enumerate(MONTHS, start=1)],
    )


class TotalsForm(ReportForm):
    """Any days, what rows are told apart by, and what they are narrowed to."""

    since = day_field("From")
    until = day_field("To")
    period = forms.ChoiceField(label="Split by", choices=[("", "Whole time"), *PERIOD_CHOICES])
    by = forms.ChoiceField(label="Rows by", choices=[("", "Product only"), *BY_CHOICES])
    county = forms.ChoiceField(label="County")
    zip_code = forms.RegexField(
        r"^[0-9]{5}$", label="ZIP", max_length=5, error_messages={"invalid": NOT_A_ZIP}
    )
    product = forms.ChoiceField(label="Product")
    applicator = forms.TypedChoiceField(label="Applicator", coerce=int, empty_value=None)
    field_order = ("since", "until", "period", "by")

    def __init__(self, *args: Any, offered: Offered, today: date, **kw: Any) -> None:
        super().__init__(*args, offered=offered, **kw)
        self.offer("county", "Every county", [(one, one) for one in offered.counties])
        self.offer("product", "Every product", [(one, one) for one in offered.products])
        self.offer("applicator", "Everyone", offered.applicators)

    def clean(self) -> dict[str, Any]:
        """The days in their order."""
        said = super().clean() or self.cleaned_data
        since, until = said.get("since"), said.get("until")
        if since and until and until < since:
            self.add_error("until", "the last day is before the first; the whole year is shown.")
            said.pop("since", None)
        return said
