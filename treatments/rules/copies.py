"""Which states ask that the customer gets a copy of the record, of which work, by when.

Rules follow the codes that were frozen with the record. A state that is not here was looked up and
asks for none, or only for lawn, turf or farm work, or on request, or was not found (7.7, A15).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from accounts.rules.day_words import short_day


@dataclass(frozen=True)
class CopyRule:
    """A state's rule: days from the work, only for restricted use or for all, and its source.

    `note` is what a person must mind that no row here knows.
    """

    days: int
    clause: str
    is_restricted_only: bool = False
    note: str = ""


# Read, in older copies; nobody has verified them against the law in force.
COPY_RULES: Mapping[str, CopyRule] = {
    # a copy always; by when was not read, so the five days of the record itself (house rule)
    "US-MN": CopyRule(5, "Minn. Stat. 18B.37 subd. 2"),
    "US-WI": CopyRule(
        30,
        "Wis. Admin. Code ATCP 29.21",
        note="By e-mail only where the customer has agreed to get it so.",
    ),
    "US-ID": CopyRule(30, "IDAPA 02.03.03.101", is_restricted_only=True),
}
# 21.17.50.10 NMAC, read
ON_REQUEST: Mapping[str, str] = {
    "US-NM": "The customer gets a copy on written request (21.17.50.10 NMAC).",
}


@dataclass(frozen=True)
class CopyDue:
    """The last day the customer may get the copy, and the rule that says so."""

    last_day: date
    rule: CopyRule

    def sentence(self, today: date) -> str:
        """The customer gets a copy by Dec 5, 2026 (Minn. Stat. 18B.37 subd. 2)."""
        by = short_day(self.last_day, True)
        tense = "was to get" if today > self.last_day else "gets"
        return f"The customer {tense} a copy by {by} ({self.rule.clause})."


def copy_due(codes: Iterable[str], applied_on: date, *, is_restricted: bool) -> CopyDue | None:
    """The earliest day of the rules of a record that ask for a copy; None where none asks.

    `codes` are those frozen with the record, with or without a version behind a slash; the day of
    the work does not count.
    """
    names = {code.partition("/")[0] for code in codes}
    asking = [
        rule
        for code, rule in COPY_RULES.items()
        if code in names and (is_restricted or not rule.is_restricted_only)
    ]
    if not asking:
        return None
    rule = min(asking, key=lambda one: one.days)
    return CopyDue(applied_on + timedelta(days=rule.days), rule)


def on_request(codes: Iterable[str]) -> str:
    """What a state of the record says about copies on request; empty where nothing."""
    names = [code.partition("/")[0] for code in codes]
    return " ".join(ON_REQUEST[name] for name in names if name in ON_REQUEST)


def overdue(due: CopyDue | None, today: date, *, is_given: bool, is_shown: bool) -> str:
    """Check A15: the sentence of a copy that was not given in time; empty while there is time."""
    if due is None or is_given or today <= due.last_day:
        return ""
    shown = " It was shown, which leaves no copy." if is_shown else ""
    return f"{due.sentence(today)} Nothing says that it was given.{shown} Give it now."
