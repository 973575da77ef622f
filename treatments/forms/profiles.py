"""The next version of a rule, as a person types it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.fields import InvalidJSONInput

from accounts.forms import day_field
from sites.rules.places import choices
from treatments.rules.profile_words import (
    ALLOWANCE_WORDS,
    ANCHOR_WORDS,
    DEADLINE_WORDS,
    EVIDENCE_WORDS,
    ITEM_WORDS,
    MARK_WORDS,
    Evidence,
    Item,
)

PLAIN = (
    *("citation", "evidence", "applies", "one_of", "notices", "prescribed_text"),
    *("retention_years", "retention_anchor", "retention_evidence", "deadline_kind"),
    *("deadline_amount", "deadline_evidence", "unlisted_pest", "unlisted_method"),
)
MARKS = [("", "Not asked"), *choices(MARK_WORDS)]
JSON_ERRORS = {"invalid": "this is not JSON; look for a missing quote, comma or bracket."}


class RuleJSON(forms.JSONField):
    """JSON as typed; a number too long to read is no JSON either."""

    def to_python(self, value: Any) -> Any:
        """Read what was typed, or say that it cannot be read."""
        try:
            return super().to_python(value)
        except ValueError as failure:
            raise ValidationError(self.error_messages["invalid"], code="invalid") from failure

    def bound_data(self, data: Any, initial: Any) -> Any:
        """What was typed, to be shown again."""
        try:
            return super().bound_data(data, initial)
        except ValueError:
            return InvalidJSONInput(data)


def json_field(label: str, help_text: str) -> forms.JSONField:
    """A value as JSON on a few lines."""
    return RuleJSON(
        label=label,
        required=False,
        help_text=help_text,
        error_messages=JSON_ERRORS,
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
    )


class NextProfileForm(forms.Form):
    """A copy of the version before: change what the rule says now."""

    effective_on = day_field(label="In force from")
    citation = forms.CharField(label="Citation", max_length=200)
    evidence = forms.CharField(
        label="How it is known", max_length=400, help_text="What was read, where and when."
    )
    retention_years = forms.IntegerField(label="Kept, years", required=False)
    retention_anchor = forms.ChoiceField(label="Counted from", choices=choices(ANCHOR_WORDS))
    retention_evidence = forms.ChoiceField(label="Years are", choices=choices(EVIDENCE_WORDS))
    deadline_kind = forms.ChoiceField(
        label="Complete within", choices=choices(DEADLINE_WORDS), required=False
    )
    deadline_amount = forms.IntegerField(label="Hours or days", required=False)
    deadline_evidence = forms.ChoiceField(label="The time is", choices=choices(EVIDENCE_WORDS))
    unlisted_pest = forms.ChoiceField(
        label="A pest no label names", choices=choices(ALLOWANCE_WORDS)
    )
    unlisted_method = forms.ChoiceField(
        label="A method no label names", choices=choices(ALLOWANCE_WORDS)
    )
    applies = json_field("Counts where", 'A condition: "is_rup", {"not": "wdo_work"}.')
    conditions = json_field(
        "Conditions of items", 'By item: {"wind_speed": {"not": "bait_station"}}.'
    )
    one_of = json_field(
        "One way is enough", '[{"ways": [["dilution"], ["application_rate", "area_treated"]]}]'
    )
    notices = json_field("Notices", '[{"text": "…", "evidence": "read"}]')
    prescribed_text = forms.CharField(
        label="Prescribed text", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for item in Item:
            self.fields[f"item_{item}"] = forms.ChoiceField(
                label=ITEM_WORDS[item], choices=MARKS, required=False
            )

    def clean_notices(self) -> list[dict[str, str]]:
        said = self.cleaned_data["notices"] or []
        if not isinstance(said, list) or not all(_is_notice(one) for one in said):
            raise forms.ValidationError("each notice has a text and its evidence.")
        return said


def _is_notice(one: Any) -> bool:
    """A text with the evidence of it, both as text."""
    return (
        isinstance(one, dict)
        and set(one) == {"text", "evidence"}
        and all(isinstance(value, str) for value in one.values())
        and one["evidence"] in list(Evidence)
    )


def as_typed(row: Any) -> dict[str, Any]:
    """A version as the form shows it first."""
    known = {name: getattr(row, name) for name in PLAIN}
    conditions = {
        name: said["when"]
        for name, said in row.fields.items()
        if isinstance(said, dict) and "when" in said
    }
    marks = {
        f"item_{name}": said["ask"] if isinstance(said, dict) else said
        for name, said in row.fields.items()
    }
    return known | marks | {"conditions": conditions}


def as_said(entered: dict[str, Any]) -> dict[str, Any]:
    """What was typed, as the service takes it: the items with their marks and conditions."""
    conditions = entered["conditions"] if isinstance(entered["conditions"], dict) else {}
    fields = {}
    for item in Item:
        mark = entered[f"item_{item}"]
        if mark:
            when = conditions.get(item.value)
            fields[item.value] = {"ask": mark, "when": when} if when is not None else mark
    said = {name: entered[name] for name in PLAIN}
    said["applies"] = {"all": []} if said["applies"] is None else said["applies"]
    said["one_of"] = said["one_of"] or []
    said["deadline_amount"] = entered["deadline_amount"] or 0
    return said | {"fields": fields, "effective_on": entered["effective_on"]}
