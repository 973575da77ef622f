"""Rows of the form of a rule: conditions, ways of which one is enough, notices.

Rows are fields of one form, numbered; an empty row says nothing, and a button asks for more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from sites.rules.places import choices
from treatments.rules.condition_rows import (
    ASKED_WORDS,
    JOIN_WORDS,
    MOST_NUMBER,
    Join,
    Literal,
    Rows,
    rows_of,
)
from treatments.rules.predicates import Condition
from treatments.rules.profile_words import EVIDENCE_WORDS, ITEM_WORDS

RULE = "rule"
GROUPS, WAYS = range(1, 5), "ABCD"
NO_ROW = ("", "No row")
MOST_ROWS, SPARE, MORE = 60, 2, 3
WANTED = {"yes": True, "no": False}

ABOUT = [
    NO_ROW,
    (RULE, "The whole rule"),
    *choices(ITEM_WORDS),
    *((f"group{number}", f"Group {number} of ways") for number in GROUPS),
]


@dataclass(frozen=True)
class Kind:
    """One table of rows: its letter, words, and its columns by name; the first names the row."""

    key: str
    title: str
    says: str
    columns: Mapping[str, str]


CONDITIONS = Kind(
    "c",
    "Conditions",
    "Where the whole rule counts, where an item is asked, where a group counts. Without a row it "
    "always does.",
    {
        "about": "About",
        "wanted": "Counts where it",
        "asked": "What is asked",
        "number": "Number",
        "join": "Needs",
    },
)
WAYS_KIND = Kind(
    "w",
    "One way is enough",
    "Items of one way go together; of the ways of a group one is enough.",
    {"item": "Item", "group": "Group", "way": "Way"},
)
NOTICES = Kind(
    "n",
    "Notices",
    "What else the rule wants, in our own words.",
    {"text": "Text", "evidence": "How it is known"},
)
KINDS = (CONDITIONS, WAYS_KIND, NOTICES)


def _select(label: str, options: Iterable[tuple[Any, str]], **more: Any) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=list(options),
        required=False,
        error_messages={"invalid_choice": "choose one from this list."},
        **more,
    )


def cells(kind: Kind, number: int) -> dict[str, forms.Field]:
    """The fields of one row by the name each has in the form."""
    made: dict[str, forms.Field]
    if kind is CONDITIONS:
        made = {
            "about": _select("About", ABOUT),
            "wanted": _select("Counts where it", [("yes", "is so"), ("no", "is not so")]),
            "asked": _select("What is asked", [("", "Choose"), *ASKED_WORDS.items()]),
            "number": forms.IntegerField(
                label="Number", required=False, min_value=0, max_value=MOST_NUMBER
            ),
            "join": _select("Needs", [(one.value, JOIN_WORDS[one]) for one in Join]),
        }
    elif kind is WAYS_KIND:
        made = {
            "item": _select("Item", [NO_ROW, *choices(ITEM_WORDS)]),
            "group": _select("Group", [(str(one), str(one)) for one in GROUPS]),
            "way": _select("Way", [(one, one) for one in WAYS]),
        }
    else:
        made = {
            "text": forms.CharField(label="Text", required=False, max_length=400),
            "evidence": _select("How it is known", choices(EVIDENCE_WORDS)),
        }
    for name, field in made.items():
        field.widget.attrs["aria-label"] = f"{kind.columns[name]}, row {number + 1}"
    return {name_of(kind, number, name): field for name, field in made.items()}


def name_of(kind: Kind, number: int, column: str) -> str:
    """c0_about: the name of one field."""
    return f"{kind.key}{number}_{column}"


def count_of(said: Mapping[str, Any], kind: Kind) -> int:
    """How many rows are shown; what cannot be read shows the spare ones."""
    text = str(said.get(f"rows_{kind.key}", ""))[:3]
    number = int(text) if text.isascii() and text.isdecimal() else SPARE
    return min(max(number, 1), MOST_ROWS)


def with_more(said: Mapping[str, Any], key: str) -> dict[str, Any]:
    """What was typed, with more empty rows of one kind."""
    found = dict(said.items())
    for kind in KINDS:
        more = MORE if kind.key == key else 0
        found[f"rows_{kind.key}"] = min(count_of(said, kind) + more, MOST_ROWS)
    return found


def initial_rows(kind: Kind, rows: list[dict[str, Any]]) -> dict[str, Any]:
    """The first values of the rows of one kind, spare ones after them."""
    found: dict[str, Any] = {f"rows_{kind.key}": min(len(rows) + SPARE, MOST_ROWS)}
    for number, row in enumerate(rows[:MOST_ROWS]):
        found |= {name_of(kind, number, column): value for column, value in row.items()}
    return found


def condition_rows(about: str, condition: Condition) -> list[dict[str, Any]]:
    """The rows of one condition; refused where it is nested deeper than rows can say."""
    found = rows_of(condition)
    if found is None:
        raise ValueError(about)
    join, literals = found
    return [
        {
            "about": about,
            "wanted": "yes" if one.is_wanted else "no",
            "asked": one.asked,
            "number": one.number,
            "join": str(join),
        }
        for one in literals
    ]


def filled(kind: Kind, cleaned: Mapping[str, Any], count: int) -> Iterator[tuple[int, Any]]:
    """Number and values of the rows whose first column says something."""
    first = next(iter(kind.columns))
    for number in range(count):
        row = {one: cleaned.get(name_of(kind, number, one)) for one in kind.columns}
        if row[first]:
            yield number, row


def read_literal(row: Mapping[str, Any]) -> Literal:
    """One row of a condition as the rule takes it."""
    return Literal(row["asked"], WANTED[row["wanted"] or "yes"], row["number"])


def together(rows: Iterable[tuple[int, Any]]) -> tuple[dict[str, Rows], dict[int, str]]:
    """The rows by what they are about, and a sentence for each row that cannot be read."""
    found: dict[str, Rows] = {}
    wrong: dict[int, str] = {}
    for number, row in rows:
        if not row["asked"]:
            wrong[number] = "choose what is asked, or choose No row."
            continue
        join, before = found.get(row["about"], (Join(row["join"] or Join.ALL), ()))
        if join != (row["join"] or Join.ALL):
            wrong[number] = "the rows about one thing need all of them or any; choose one of both."
        found[row["about"]] = join, (*before, read_literal(row))
    return found, wrong
