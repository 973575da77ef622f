"""The next version of a rule, as a person types it: fields and rows of a closed set, no code."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from django import forms

from accounts.forms import day_field
from accounts.refusals import Refused
from sites.rules.places import choices
from treatments.forms.profile_rows import (
    CONDITIONS,
    KINDS,
    MOST_ROWS,
    NOTICES,
    RULE,
    WAYS_KIND,
    Kind,
    cells,
    condition_rows,
    count_of,
    filled,
    initial_rows,
    name_of,
    together,
)
from treatments.rules.condition_rows import condition_of
from treatments.rules.predicates import Condition
from treatments.rules.profile_words import (
    ALLOWANCE_WORDS,
    ANCHOR_WORDS,
    DEADLINE_WORDS,
    EVIDENCE_WORDS,
    ITEM_WORDS,
    MARK_WORDS,
    Item,
)
from treatments.rules.profiles import ALWAYS

PLAIN = (
    *("citation", "evidence", "prescribed_text"),
    *("retention_years", "retention_anchor", "retention_evidence", "deadline_kind"),
    *("deadline_amount", "deadline_evidence", "unlisted_pest", "unlisted_method"),
)
MARKS = [("", "Not asked"), *choices(MARK_WORDS)]
TOO_DEEP = (
    "A condition of this version is nested deeper than rows can say. Enter the next version in the "
    "file of rules."
)


class NextProfileForm(forms.Form):
    """A copy of the version before: change what the rule says now.

    `rows_c`, `rows_w` and `rows_n` say how many rows of conditions, ways and notices are shown.
    """

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
    prescribed_text = forms.CharField(
        label="Prescribed text", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for item in Item:
            self.fields[f"item_{item}"] = forms.ChoiceField(
                label=ITEM_WORDS[item], choices=MARKS, required=False
            )
        said: Mapping[str, Any] = self.data if self.is_bound else self.initial
        self.counts = {kind.key: count_of(said, kind) for kind in KINDS}
        for kind in KINDS:
            self.fields[f"rows_{kind.key}"] = forms.CharField(
                required=False, widget=forms.HiddenInput, initial=self.counts[kind.key]
            )
            for number in range(self.counts[kind.key]):
                self.fields |= cells(kind, number)

    def plain(self) -> list[forms.BoundField]:
        """The fields that stand in no table."""
        in_rows = {name for kind, rows in self._names() for row in rows for name in row}
        return [one for one in self.visible_fields() if one.name not in in_rows]

    def tables(self) -> list[tuple[Kind, list[list[tuple[str, forms.BoundField]]], bool]]:
        """Each table with its rows, each cell beside its heading, and whether more rows fit."""
        return [
            (
                kind,
                [list(zip(kind.columns.values(), (self[one] for one in row), strict=True))
                 for row in rows],
                self.counts[kind.key] < MOST_ROWS,
            )
            for kind, rows in self._names()
        ]  # fmt: skip

    def _names(self) -> list[tuple[Kind, list[list[str]]]]:
        return [
            (
                kind,
                [
                    [name_of(kind, number, column) for column in kind.columns]
                    for number in range(self.counts[kind.key])
                ],
            )
            for kind in KINDS
        ]

    def clean(self) -> dict[str, Any]:
        """The rows as the service takes them; a row that cannot be read is named at its cell."""
        found = self.cleaned_data
        conditions = self._conditions()
        found["applies"] = conditions.pop(RULE, ALWAYS)
        found["one_of"] = self._groups(conditions)
        found["fields"] = self._asks(conditions)
        rows = filled(NOTICES, found, self.counts["n"])
        found["notices"] = [{"text": row["text"], "evidence": row["evidence"]} for _, row in rows]
        return found

    def _conditions(self) -> dict[str, Condition]:
        rows = list(filled(CONDITIONS, self.cleaned_data, self.counts["c"]))
        gathered, wrong = together(rows)
        for number, sentence in wrong.items():
            self.add_error(name_of(CONDITIONS, number, "asked"), sentence)
        last = {row["about"]: number for number, row in rows}
        found = {}
        for about, (join, literals) in gathered.items():
            try:
                found[about] = condition_of(join, literals)
            except Refused as refused:
                self.add_error(name_of(CONDITIONS, last[about], "number"), refused.sentence)
        return found

    def _groups(self, conditions: dict[str, Condition]) -> list[dict[str, Any]]:
        ways: defaultdict[str, defaultdict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
        for _, row in filled(WAYS_KIND, self.cleaned_data, self.counts["w"]):
            ways[row["group"] or "1"][row["way"] or "A"].append(row["item"])
        found = []
        for group in sorted(ways):
            when = conditions.pop(f"group{group}", None)
            said = {"ways": [ways[group][way] for way in sorted(ways[group])]}
            found.append(said | ({} if when is None else {"when": when}))
        return found

    def _asks(self, conditions: dict[str, Condition]) -> dict[str, Any]:
        asked = {}
        for item in Item:
            mark, when = self.cleaned_data.get(f"item_{item}"), conditions.pop(item, None)
            if mark:
                asked[item.value] = mark if when is None else {"ask": mark, "when": when}
            elif when is not None:
                self.add_error(f"item_{item}", "has a condition below; choose how it is asked.")
        for about in conditions:
            self.add_error(None, f"A condition is about group {about[-1]}, and no way is in it.")
        return asked


def as_typed(row: Any) -> dict[str, Any]:
    """A version as the form shows it first. Refused: a condition that rows cannot say."""
    known = {name: getattr(row, name) for name in PLAIN}
    marks = {
        f"item_{name}": said["ask"] if isinstance(said, dict) else said
        for name, said in row.fields.items()
    }
    return known | marks | _rows(row)


def _rows(row: Any) -> dict[str, Any]:
    try:
        conditions = [
            one for about, when in _said_conditions(row) for one in condition_rows(about, when)
        ]
    except ValueError as failure:
        raise Refused("condition", TOO_DEEP) from failure
    ways = [
        {"item": item, "group": str(number), "way": "ABCD"[place]}
        for number, group in enumerate(row.one_of, start=1)
        for place, way in enumerate(group["ways"])
        for item in way
    ]
    return {
        **initial_rows(CONDITIONS, conditions),
        **initial_rows(WAYS_KIND, ways),
        **initial_rows(NOTICES, list(row.notices)),
    }


def _said_conditions(row: Any) -> list[tuple[str, Condition]]:
    """Every condition of a version beside what it is about."""
    of_items = [
        (name, said["when"])
        for name, said in row.fields.items()
        if isinstance(said, dict) and "when" in said
    ]
    of_groups = [
        (f"group{number}", group["when"])
        for number, group in enumerate(row.one_of, start=1)
        if "when" in group
    ]
    return [(RULE, row.applies), *of_items, *of_groups]


def as_said(entered: dict[str, Any]) -> dict[str, Any]:
    """What was typed, as the service takes it: the items with their marks and conditions."""
    rows = {name: entered[name] for name in ("applies", "fields", "one_of", "notices")}
    said = {name: entered[name] for name in PLAIN} | rows
    said["deadline_amount"] = entered["deadline_amount"] or 0
    return said | {"effective_on": entered["effective_on"]}
