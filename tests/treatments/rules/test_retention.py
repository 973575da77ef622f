"""Years of the rules, counted by the calendar; Feb 29 becomes Mar 1 (house rule)."""

from __future__ import annotations

from datetime import date

import pytest

from accounts.refusals import Refused
from treatments.rules.retention import never_shorter, retain_until


@pytest.mark.parametrize(
    ("anchor", "years", "until"),
    [
        (date(2024, 2, 29), [2], date(2026, 3, 1)),  # 40 CFR 171.303(b)(7): 2 years (read)
        (date(2024, 2, 29), [4], date(2028, 2, 29)),  # calendar arithmetic
        # 40 CFR 171.303(b)(7) and Ohio, OAC 901:5-11-10: 3 years (read); the longer holds
        (date(2025, 6, 30), [2, 3], date(2028, 6, 30)),
        # 02 NCAC 34 .0604: 2 years beyond the agreement (read)
        (date(2027, 5, 31), [2], date(2029, 5, 31)),
        (date(2026, 3, 1), [7], date(2033, 3, 1)),  # WAC 16-228-1320: 7 years (read)
    ],
)
def test_retain_until(anchor: date, years: list[int], until: date) -> None:
    assert retain_until(anchor, years) == until


def test_a_hold_is_never() -> None:
    assert retain_until(date(2024, 1, 1), [2], on_hold=True) is None


def test_no_rule_is_refused() -> None:
    with pytest.raises(Refused):
        retain_until(date(2024, 1, 1), [])


def test_a_promise_is_never_shortened() -> None:
    long, short = date(2033, 1, 1), date(2030, 1, 1)
    assert never_shorter(long, short) == long == never_shorter(short, long)
    assert never_shorter(None, short) is None
