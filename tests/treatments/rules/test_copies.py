"""By when the customer gets a copy; the clause stands beside each row (read, 2.2 and 7.7)."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from accounts.refusals import Refused
from treatments.rules.copies import CopyRule, copy_due, on_request, overdue, read_copies
from treatments.services.profiles import OURS

DAY = date(2026, 11, 25)
OURS_BY_CODE = {
    one["code"]: read_copies(one["copies"]) for one in json.loads(OURS.read_text(encoding="utf-8"))
}


def rules(*codes: str) -> list[CopyRule]:
    return [rule for code in codes for rule in OURS_BY_CODE[code]]


@pytest.mark.parametrize(
    ("codes", "is_restricted", "last_day"),
    [
        ([], False, None),
        (["US-OH"], True, None),
        # Minn. Stat. 18B.37 subd. 2: a copy always; five days is our own reading
        (["US-MN"], False, date(2026, 11, 30)),
        # Wis. Admin. Code ATCP 29: within 30 days
        (["US-WI"], False, date(2026, 12, 25)),
        # IDAPA 02.03.03.101: restricted use only, within 30 days
        (["US-ID"], False, None),
        (["US-ID", "US-FED"], True, date(2026, 12, 25)),
        # 21.17.50.10 NMAC: on request, so no day
        (["US-NM"], False, None),
        # the earliest of several
        (["US-WI", "US-MN"], False, date(2026, 11, 30)),
    ],
)
def test_by_when(codes: list[str], is_restricted: bool, last_day: date | None) -> None:
    due = copy_due(rules(*codes), DAY, is_restricted=is_restricted)
    assert (due and due.last_day) == last_day


@pytest.mark.parametrize(
    ("today", "is_given", "is_shown", "words"),
    [
        (date(2026, 11, 30), False, False, ""),  # the last day itself is in time
        (date(2026, 12, 1), True, False, ""),
        (date(2026, 12, 1), False, False, "Nothing says that it was given. Give it now."),
        (date(2026, 12, 1), False, True, "It was shown, which leaves no copy. Give it now."),
    ],
)
def test_a_copy_is_late_after_its_last_day(
    today: date, is_given: bool, is_shown: bool, words: str
) -> None:
    due = copy_due(rules("US-MN"), DAY, is_restricted=False)
    said = overdue(due, today, is_given=is_given, is_shown=is_shown)
    assert said.endswith(words) if words else said == ""
    assert not words or "by Nov 30, 2026 (Minn. Stat. 18B.37 subd. 2)" in said
    assert not words or "Nobody has verified this rule." in said


def test_a_verified_rule_is_not_doubted() -> None:
    row = {"of": "every", "days": 5, "clause": "House", "evidence": "house"}
    due = copy_due(read_copies([row], is_verified=True), DAY, is_restricted=False)
    assert due is not None
    assert due.sentence(DAY) == "The customer gets a copy by Nov 30, 2026 (House)."


def test_no_rule_is_never_late() -> None:
    assert overdue(None, date(2030, 1, 1), is_given=False, is_shown=False) == ""


def test_a_state_that_gives_copies_on_request_says_so() -> None:
    assert on_request(rules("US-NM")).endswith("written request (21.17.50.10 NMAC).")
    assert on_request(rules("US-MN")) == ""


GOOD = {"of": "every", "days": 5, "clause": "House", "note": "", "evidence": "house"}


@pytest.mark.parametrize(
    "rows",
    [
        None,
        "every",
        [7],
        [GOOD | {"of": "some"}],
        [GOOD | {"days": 0}],
        [GOOD | {"days": 367}],
        [GOOD | {"days": True}],
        [GOOD | {"days": "5"}],
        [GOOD | {"of": "on_request"}],
        [GOOD | {"clause": " "}],
        [GOOD | {"clause": "x" * 121}],
        [GOOD | {"evidence": "sure"}],
    ],
)
def test_what_is_no_rule_on_copies(rows: Any) -> None:
    with pytest.raises(Refused) as refused:
        read_copies(rows)
    assert refused.value.code == "copies"
