"""Filter rows: GET forms whose choices live in the address."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms

from accounts.forms import Choices, FilterForm
from scheduling.forms.office import day_field

WITHIN = (("", "Any time"), ("0", "Lapsed"), ("14", "Within 14 days"), ("30", "Within 30 days"))
STATES = (
    ("", "Every state"),
    ("to_book", "To book"),
    ("booked", "Booked"),
    ("declined", "Declined"),
)
SEVERITIES = (
    ("", "With and without"),
    ("violation", "Violations"),
    ("warn", "Violations and checks"),
)
KINDS = (("", "Every kind"), ("residential", "Residential"), ("commercial", "Commercial"))
STATUSES = (("", "Every status"), ("active", "Active"), ("closed", "Closed"))
SORTS = (("name", "Name, A first"), ("-name", "Name, Z first"), ("newest", "Newest first"))


class RenewalFilterForm(FilterForm):
    """Renewals by branch, town, state and days left."""

    branch = forms.TypedChoiceField(label="Branch", coerce=int, empty_value=None)
    within = forms.TypedChoiceField(label="Lapses", choices=WITHIN, coerce=int, empty_value=None)
    town = forms.ChoiceField(label="Town")
    state = forms.ChoiceField(label="State", choices=STATES)

    def __init__(self, *args: Any, branches: Choices, towns: Iterable[str], **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("branch", "Every branch", branches)
        self.offer("town", "Every town", [(town, town) for town in towns])


class CustomerFilterForm(FilterForm):
    """Customers by name, town, kind and status, and their order."""

    name = forms.CharField(label="Name contains", max_length=80)
    town = forms.ChoiceField(label="Town")
    kind = forms.ChoiceField(label="Kind", choices=KINDS)
    status = forms.ChoiceField(label="Status", choices=STATUSES)
    sort = forms.ChoiceField(label="Order", choices=SORTS)

    def __init__(self, *args: Any, towns: Iterable[str], **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("town", "Every town", [(town, town) for town in towns])


class DayForm(FilterForm):
    """Which day and which branch."""

    date = day_field("Day")
    branch = forms.TypedChoiceField(label="Branch", coerce=int, empty_value=None)

    def __init__(self, *args: Any, branches: Choices, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("branch", "Every branch", branches)


class LoadDayForm(FilterForm):
    """Which day the trucks are loaded for."""

    date = day_field("Day")


class LoadsFilter(FilterForm):
    """Loads of which branch."""

    branch = forms.TypedChoiceField(label="Branch", coerce=int, empty_value=None)

    def __init__(self, *args: Any, branches: Choices, **kw: Any) -> None:
        super().__init__(*args, **kw)
        self.offer("branch", "Every branch", branches)


class UseLogForm(FilterForm):
    """Applications by day, product, applicator, branch and gravest finding."""

    since = day_field("From")
    until = day_field("To")
    product = forms.ChoiceField(label="Product")
    applicator = forms.TypedChoiceField(label="Applicator", coerce=int, empty_value=None)
    branch = forms.TypedChoiceField(label="Branch", coerce=int, empty_value=None)
    severity = forms.ChoiceField(label="Findings", choices=SEVERITIES)

    def __init__(
        self,
        *args: Any,
        branches: Choices,
        products: Iterable[str],
        applicators: Choices,
        **kw: Any,
    ) -> None:
        super().__init__(*args, **kw)
        self.offer("branch", "Every branch", branches)
        self.offer("product", "Every product", [(name, name) for name in products])
        self.offer("applicator", "Everyone", applicators)
