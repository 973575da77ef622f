"""What is entered about stock: places, deliveries, transfers, counts, disposals."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from accounts.forms import day_field, row_field
from treatments.rules.stock import PLACE_WORDS

UNITS = (
    ("fl_oz", "fl oz"),
    ("gal", "gal"),
    ("qt", "qt"),
    ("mL", "mL"),
    ("L", "L"),
    ("oz_wt", "oz (wt)"),
    ("lb", "lb"),
    ("g", "g"),
    ("kg", "kg"),
)
Choices = Iterable[tuple[Any, str]]


def amount_field(label: str, **more: Any) -> forms.CharField:
    """An amount as typed; the service reads it."""
    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, max_length=20, widget=widget, **more)


class ChoosingForm(forms.Form):
    """A form whose lists of rows are given when it is made."""

    def __init__(self, *args: Any, rows: Mapping[str, Choices], **more: Any) -> None:
        super().__init__(*args, **more)
        for name, choices in rows.items():
            field = self.fields[name]
            empty = [] if field.required else [("", "Nobody")]
            field.choices = [*empty, *choices]  # type: ignore[attr-defined]


def _reference() -> forms.UUIDField:
    """Names the form, so that what is sent twice is moved once."""
    return forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, required=False)


class OnHandFilter(forms.Form):
    """Which of the stock on hand: of one place, of one product."""

    place = row_field("Place", required=False)
    product = row_field("Product", required=False)

    def __init__(self, *args: Any, rows: Mapping[str, Choices], **more: Any) -> None:
        more.setdefault("auto_id", "f-%s")
        more.setdefault("label_suffix", "")
        super().__init__(*args, **more)
        for name, choices in rows.items():
            empty = ("", f"Every {name}")
            self.fields[name].choices = [empty, *choices]  # type: ignore[attr-defined]

    def wanted(self) -> dict[str, int | None]:
        """What was asked for by key; what is not on the list narrows nothing."""
        self.is_valid()
        return {f"{name}_id": self.cleaned_data.get(name) for name in self.fields}


class PlaceForm(ChoosingForm):
    """A store, a vehicle or a rinsate container."""

    branch = row_field("Branch")
    kind = forms.ChoiceField(label="Kind", choices=list(PLACE_WORDS.items()))
    name = forms.CharField(label="Name", max_length=80, help_text="Main store, Truck 4.")
    plate = forms.CharField(label="Plate", max_length=16, required=False)
    technician = row_field(
        "Driven by",
        required=False,
        help_text="What this technician records is taken from here.",
    )


class ReceiptForm(ChoosingForm):
    """A delivery as it stands on the invoice and on the container."""

    client_ref = _reference()
    label_version = row_field(
        "Product and label", help_text="The label on the container, by its date."
    )
    place = row_field("Put into")
    lot_number = forms.CharField(label="Lot number", max_length=40)
    containers = forms.IntegerField(label="Containers", min_value=1)
    container_size = amount_field("Size of one container")
    container_unit = forms.ChoiceField(label="Unit", choices=UNITS)
    received_on = day_field("Received on")
    expires_on = day_field("Expires on", required=False, help_text="If the container says so.")
    dealer = forms.CharField(label="Dealer", max_length=120)
    invoice = forms.CharField(label="Invoice", max_length=60, required=False)
    buyer = forms.CharField(
        label="Bought by", max_length=120, required=False, help_text="For restricted use."
    )
    buyer_license = forms.CharField(
        label="License of the buyer", max_length=40, required=False, help_text="For restricted use."
    )


class TransferForm(ChoosingForm):
    """From one place to another."""

    client_ref = _reference()
    from_place = row_field("From")
    to_place = row_field("To")
    amount = amount_field("Amount")
    unit = forms.ChoiceField(label="Unit", choices=UNITS)


class TakeForm(ChoosingForm):
    """What is taken onto the own vehicle; a lot and its store are one choice."""

    client_ref = _reference()
    lot = forms.ChoiceField(
        label="Lot",
        error_messages={
            "required": "choose what you take.",
            "invalid_choice": "choose one from this list.",
        },
    )
    amount = amount_field("Amount", error_messages={"required": "write how much you take."})
    unit = forms.ChoiceField(label="Unit", choices=UNITS)

    def taken(self) -> tuple[int, int]:
        """The keys of the lot and of its store."""
        lot, store = self.cleaned_data["lot"].split("-")
        return int(lot), int(store)


class DisposalForm(ChoosingForm):
    """What was disposed of, how and where."""

    client_ref = _reference()
    place = row_field("From")
    amount = amount_field("Amount")
    unit = forms.ChoiceField(label="Unit", choices=UNITS)
    how = forms.CharField(
        label="How", max_length=120, help_text="As the label says: collection day, taken back."
    )
    where = forms.CharField(label="Where", max_length=120)


class CountForm(ChoosingForm):
    """What was really there."""

    client_ref = _reference()
    place = row_field("Where")
    amount = amount_field("Counted", help_text="What is really there now, 0 when it is empty.")
    unit = forms.ChoiceField(label="Unit", choices=UNITS)
    reason = forms.CharField(
        label="Reason",
        max_length=200,
        required=False,
        help_text="Asked for when the count is not what receipts and logged use leave.",
    )


class TakeBackForm(forms.Form):
    """Why a move is taken back."""

    reason = forms.CharField(label="What was wrong", max_length=200)


class ReorderForm(ChoosingForm):
    """Below how much a branch orders again."""

    branch = row_field("Branch")
    label_version = row_field("Product")
    amount = amount_field("Order again below")
    unit = forms.ChoiceField(label="Unit", choices=UNITS)
