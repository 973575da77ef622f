"""What a technician enters of a load: how it was mixed, what was left of it."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms

from scheduling.forms.field import (
    FINISHED_UNITS,
    LIQUID_UNITS,
    MASS_UNITS,
    Choices,
    LocalNow,
    take_moment,
)
from scheduling.rules.local_clock import TIME_RULE
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Leftover
from treatments.rules.loads import REST_WORDS, RestKind

LOST = dict.fromkeys(
    ("invalid", "required"), "This form has lost its number. Open this page again."
)


def _amount(label: str, **words: Any) -> forms.CharField:
    reading = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, max_length=20, widget=reading, **words)


class MixLoadForm(forms.Form):
    """One tank as it was mixed; amounts are read on the measure, never filled in beforehand."""

    halves = (
        *("product_amount", "product_unit", "also_amount", "also_unit"),
        *("finished_amount", "finished_unit"),
    )
    client_ref = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=LOST)
    product_amount = _amount(
        "Product in the tank, undiluted",
        error_messages={"required": "write the product you measured."},
    )
    product_unit = forms.ChoiceField(
        label="Unit of the product", choices=(*LIQUID_UNITS, *MASS_UNITS)
    )
    also_amount = _amount(
        "Other product", error_messages={"required": "write the other product you measured."}
    )
    also_unit = forms.ChoiceField(
        label="Unit of the other product", choices=(*LIQUID_UNITS, *MASS_UNITS)
    )
    finished_amount = _amount(
        "Made up to", error_messages={"required": "write the finished spray in the tank."}
    )
    finished_unit = forms.ChoiceField(label="Unit of the spray", choices=FINISHED_UNITS)
    mixed = forms.TimeField(
        label="Mixed at",
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=TIME_RULE,
    )
    lot = forms.TypedChoiceField(label="Lot", required=False, coerce=int, empty_value=None)
    also_lot = forms.TypedChoiceField(
        label="Lot of the other product", required=False, coerce=int, empty_value=None
    )
    sprayer = forms.TypedChoiceField(label="Sprayer", required=False, coerce=int, empty_value=None)
    equipment = forms.CharField(
        label="Or another tank", max_length=80, required=False, help_text="1-gal hand can"
    )

    def __init__(
        self,
        *args: Any,
        clock: LocalNow,
        lots: Choices,
        sprayers: Choices,
        names: Sequence[str] = (),
        also_lots: Choices = (),
        **kwargs: Any,
    ) -> None:
        # beside the form of the choice on one page: its names must not meet the other's
        kwargs.setdefault("auto_id", "load_%s")
        super().__init__(*args, **kwargs)
        self.clock = clock
        offers = {"lot": lots, "sprayer": sprayers, "also_lot": also_lots}
        self._name_products(names)
        for name, choices in offers.items():
            if name not in self.fields:
                continue
            offered = [("", "Not said"), *choices]
            self.fields[name].choices = offered  # type: ignore[attr-defined]

    def _name_products(self, names: Sequence[str]) -> None:
        """Call each of two products by its name; a tank of one asks for no other."""
        if len(names) < len(("one", "another")):
            for name in ("also_amount", "also_unit", "also_lot"):
                del self.fields[name]
            return
        for of, name in zip(("product", "also"), names, strict=True):
            self.fields[f"{of}_amount"].label = f"{name}, undiluted"
            self.fields[f"{of}_unit"].label = f"Unit of {name}"
        self.fields["lot"].label, self.fields["also_lot"].label = (f"Lot of {one}" for one in names)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        take_moment(self, cleaned, "mixed", self.clock)
        return cleaned


class RestForm(forms.Form):
    """What was found in the tank, and what was done with it."""

    client_ref = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages=LOST)
    kind = forms.ChoiceField(
        label="What was done with it",
        choices=[(kind.value, words) for kind, words in REST_WORDS.items()],
        widget=forms.RadioSelect,
        error_messages={"required": "say what was done with what is left."},
    )
    amount = _amount("How much", required=False, help_text="Empty when nothing is left.")
    unit = forms.ChoiceField(label="Unit", choices=FINISHED_UNITS)
    how = forms.CharField(
        label="Disposed of how",
        max_length=120,
        required=False,
        help_text="Put out on a place the label names, collection day",
    )
    where = forms.CharField(label="Disposed of where", max_length=120, required=False)
    container = forms.TypedChoiceField(
        label="Which rinsate container", required=False, coerce=int, empty_value=None
    )

    def __init__(self, *args: Any, containers: Choices = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = list(containers)
        if len(offered) < 2:
            del self.fields["container"]
            return
        self.fields["container"].choices = [  # type: ignore[attr-defined]
            ("", "Choose"),
            *offered,
        ]

    def leftover(self) -> Leftover:
        """What was said, as the floor below takes it."""
        said = self.cleaned_data
        amount = said["amount"]
        return Leftover(
            client_ref=said["client_ref"],
            kind=said["kind"],
            amount=Entered(amount, said["unit"]) if amount else None,
            how=said["how"],
            where=said["where"],
            container_id=said.get("container"),
            reason=said.get("reason", ""),
        )


class EndLoadForm(RestForm):
    """The same of somebody else's load, with the reason; a manager keeps nothing in a tank."""

    reason = forms.CharField(
        label="Why you end it",
        max_length=200,
        help_text="Left the firm, ill, the tank was found empty",
    )
    field_order = ("client_ref", "reason")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = [(kind.value, words) for kind, words in REST_WORDS.items()]
        self.fields["kind"].choices = [  # type: ignore[attr-defined]
            one for one in kinds if one[0] != RestKind.KEPT
        ]
