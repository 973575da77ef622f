"""Which states ask for a copy, by when; the clause stands beside each row (read, 2.2 and 7.7)."""

from __future__ import annotations

from datetime import date

import pytest

from treatments.rules.copies import copy_due, on_request, overdue

DAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("codes", "is_restricted", "last_day"),
    [
        ([], False, None),
        (["US-OH/1"], True, None),
        # Minn. Stat. 18B.37 subd. 2: a copy always; five days is our own reading
        (["US-MN/1", "FIRM/1"], False, date(2026, 11, 30)),
        # Wis. Admin. Code ATCP 29: within 30 days
        (["US-WI/2"], False, date(2026, 12, 25)),
        (["US-WI"], True, date(2026, 12, 25)),
        # IDAPA 02.03.03.101: restricted use only, within 30 days
        (["US-ID/1"], False, None),
        (["US-ID/1", "US-FED/1"], True, date(2026, 12, 25)),
        # 21.17.50.10 NMAC: on request, so no day
        (["US-NM/1"], False, None),
        # the earliest of several
        (["US-WI/1", "US-MN/1"], False, date(2026, 11, 30)),
        # a code that only begins like one
        (["US-MNX/1"], False, None),
    ],
)
def test_by_when(codes: list[str], is_restricted: bool, last_day: date | None) -> None:
    due = copy_due(codes, DAY, is_restricted=is_restricted)
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
    due = copy_due(["US-MN/1"], DAY, is_restricted=False)
    said = overdue(due, today, is_given=is_given, is_shown=is_shown)
    assert said.endswith(words) if words else said == ""
    assert not words or "by Nov 30, 2026 (Minn. Stat. 18B.37 subd. 2)" in said


def test_no_rule_is_never_late() -> None:
    assert overdue(None, date(2030, 1, 1), is_given=False, is_shown=False) == ""


def test_a_state_that_gives_copies_on_request_says_so() -> None:
    assert "written request" in on_request(["US-NM/1", "FIRM/1"])
    assert on_request(["US-MN/1"]) == ""
