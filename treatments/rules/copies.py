"""By when the customer gets a copy of the record, as the rules of a profile say.

A profile may have several such rules; those of the versions that a record froze hold. A rule that
nobody verified warns: its sentence says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from treatments.rules.profile_words import Evidence

MOST_DAYS = 366
LONGEST = {"clause": 120, "note": 200}


class CopyOf(StrEnum):
    """Of which work a rule wants the customer to get a copy."""

    EVERY = "every"
    RESTRICTED = "restricted"
    ON_REQUEST = "on_request"


COPY_OF_WORDS: dict[StrEnum, str] = {
    CopyOf.EVERY: "of all work",
    CopyOf.RESTRICTED: "of restricted use only",
    CopyOf.ON_REQUEST: "only on written request",
}


@dataclass(frozen=True)
class CopyRule:
    """A rule: of which work, days from the work (0 on request), its source and how it is known.

    `note` is what a person must mind that no row here knows.
    """

    of: CopyOf
    days: int
    clause: str
    note: str = ""
    evidence: Evidence = Evidence.UNKNOWN
    is_verified: bool = False

    @property
    def words(self) -> str:
        """A copy of all work within 5 days (Minn. Stat. 18B.37 subd. 2)."""
        within = "" if self.of == CopyOf.ON_REQUEST else f" within {self.days} days"
        return f"A copy {COPY_OF_WORDS[self.of]}{within} ({self.clause})"


@dataclass(frozen=True)
class CopyDue:
    """The last day the customer may get the copy, and the rule that says so."""

    last_day: date
    rule: CopyRule

    def sentence(self, today: date) -> str:
        """The customer gets a copy by Dec 5, 2026 (Minn. Stat. 18B.37 subd. 2)."""
        by = short_day(self.last_day, True)
        tense = "was to get" if today > self.last_day else "gets"
        doubt = "" if self.rule.is_verified else " Nobody has verified this rule."
        return f"The customer {tense} a copy by {by} ({self.rule.clause}).{doubt}"


def read_copies(rows: object, *, is_verified: bool = False) -> tuple[CopyRule, ...]:
    """The copy rules of a profile from plain values.

    Refused: what is no list of rows, work that is none, no clause, days that are not possible.
    """
    if not isinstance(rows, list):
        raise Refused("copies", "The rules on copies are a list.", field="copies")
    return tuple(_read(row, is_verified) for row in rows)


def _read(row: Any, is_verified: bool) -> CopyRule:
    said: dict[str, Any] = row if isinstance(row, dict) else {}
    of, days = said.get("of"), said.get("days") or 0
    clause, note = (str(said.get(name) or "").strip() for name in LONGEST)
    if of not in list(CopyOf) or said.get("evidence") not in list(Evidence):
        raise Refused("copies", "Say of which work a copy is wanted, and how that is known.")
    if not clause or len(clause) > LONGEST["clause"] or len(note) > LONGEST["note"]:
        raise Refused("copies", "A rule on copies needs its clause, in a line.", field="copies")
    is_counted = isinstance(days, int) and not isinstance(days, bool) and 0 <= days <= MOST_DAYS
    if not is_counted or (of == CopyOf.ON_REQUEST) != (days == 0):
        raise Refused(
            "copies",
            f"A copy is due within 1 to {MOST_DAYS} days; one on request has no days.",
            field="copies",
        )
    return CopyRule(CopyOf(of), days, clause, note, Evidence(said["evidence"]), is_verified)


def copy_due(rules: Iterable[CopyRule], applied_on: date, *, is_restricted: bool) -> CopyDue | None:
    """The earliest day of the rules that ask for a copy of this work; None where none asks.

    The day of the work does not count; of two alike a verified one is named.
    """
    wanted = {CopyOf.EVERY, CopyOf.RESTRICTED} if is_restricted else {CopyOf.EVERY}
    asking = [rule for rule in rules if rule.of in wanted]
    if not asking:
        return None
    rule = min(asking, key=lambda one: (one.days, not one.is_verified))
    return CopyDue(applied_on + timedelta(days=rule.days), rule)


def on_request(rules: Iterable[CopyRule]) -> str:
    """What the rules say about copies on request; empty where nothing."""
    clauses = dict.fromkeys(rule.clause for rule in rules if rule.of == CopyOf.ON_REQUEST)
    return " ".join(f"The customer gets a copy on written request ({one})." for one in clauses)


def overdue(due: CopyDue | None, today: date, *, is_given: bool, is_shown: bool) -> str:
    """Check A15: the sentence of a copy that was not given in time; empty while there is time."""
    if due is None or is_given or today <= due.last_day:
        return ""
    shown = " It was shown, which leaves no copy." if is_shown else ""
    return f"{due.sentence(today)} Nothing says that it was given.{shown} Give it now."
