"""What is entered about programs and agreements."""

from __future__ import annotations

from typing import Any

from django import forms

from accounts.forms import FilterForm, day_field, row_field
from scheduling.rules.agreement_states import AGREEMENT_STATE_WORDS
from scheduling.rules.agreements import ACCEPTED_WORDS, PRICE_PER_WORDS, Terms
from sites.rules.places import PEST_GROUP_WORDS, PLACE_WORDS, choices
from treatments.forms.stock import ChoosingForm
from treatments.rules.products import METHOD_WORDS

TERM_FIELDS = ("starts_on", "months", "renews", "notice_days", "re_service", "price", "price_per")


def _ticks(label: str, words: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label,
        choices=choices(words),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "tick at least one."},
    )


class ProgramForm(forms.Form):
    """What a plan covers and its rhythm."""

    name = forms.CharField(label="Name", max_length=120)
    pest_groups = _ticks("Pests covered", PEST_GROUP_WORDS)
    places = _ticks("Zones", PLACE_WORDS)
    methods = _ticks("Methods", METHOD_WORDS)
    by_residual = forms.BooleanField(
        label="When a residual window is about to lapse", required=False
    )
    every_days = forms.IntegerField(
        label="Fixed interval, days",
        required=False,
        min_value=7,
        max_value=366,
        help_text="Left empty there is none.",
    )
    seasons = forms.CharField(
        label="Season windows",
        max_length=200,
        required=False,
        help_text="As 09-01 to 10-15, several divided by commas.",
    )


class AgreementForm(ChoosingForm):
    """The terms of an agreement."""

    program = row_field("Program")
    starts_on = day_field("First day")
    months = forms.IntegerField(label="Term, months", min_value=1, max_value=60, initial=12)
    renews = forms.BooleanField(label="Goes on after the term until ended", required=False)
    notice_days = forms.IntegerField(
        label="Notice to end it, days", min_value=0, max_value=365, initial=30
    )
    re_service = forms.BooleanField(
        label="Re-service between services is free", required=False, initial=True
    )
    price = forms.DecimalField(
        label="Price, $", min_value=0, max_digits=9, decimal_places=2, localize=False
    )
    price_per = forms.ChoiceField(label="Price is for", choices=choices(PRICE_PER_WORDS))


def terms_of(entered: dict[str, Any]) -> Terms:
    """The terms as the rules take them."""
    return Terms(**{name: entered[name] for name in TERM_FIELDS})


class AcceptForm(forms.Form):
    """How the customer accepted the paper."""

    sha256 = forms.CharField(widget=forms.HiddenInput, max_length=64)
    signer = forms.CharField(
        label="Name of who accepts",
        max_length=120,
        help_text="First and last name.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    how = forms.ChoiceField(
        label="How", choices=choices(ACCEPTED_WORDS), widget=forms.RadioSelect, initial="typed"
    )
    signature = forms.CharField(widget=forms.HiddenInput, required=False, max_length=30_000)
    scan = forms.FileField(
        label="Scan of the signed paper",
        required=False,
        help_text="PDF, JPEG or PNG, 10 MB at most; only for a signed paper.",
    )
    note = forms.CharField(
        label="Note",
        max_length=300,
        required=False,
        help_text="For an e-mail: the address it came from and its day.",
    )

    def clean_scan(self) -> bytes:
        """Look at the size before a byte is read."""
        file = self.cleaned_data["scan"]
        if file is None:
            return b""
        if file.size > 10 * 1024 * 1024:
            raise forms.ValidationError("the scan is above 10 MB. Scan it smaller.")
        return bytes(file.read())


class ReasonForm(forms.Form):
    """Why an agreement changes."""

    reason = forms.CharField(label="Why", max_length=300, error_messages={"required": "write why."})


class EndForm(ReasonForm):
    """The last day of an agreement, and why it ends."""

    ends_on = day_field("Last day")
    both_agree = forms.BooleanField(
        label="Both sides agree to end it sooner than the notice asks", required=False
    )


class AgreementFilter(FilterForm):
    """Which agreements: in which state."""

    state = forms.ChoiceField(
        label="State", choices=[("", "Every state"), *choices(AGREEMENT_STATE_WORDS)]
    )
