"""When what is known of a notice means that a copy was left, and when to try again."""

from __future__ import annotations

from datetime import timedelta

import pytest

from accounts.rules.notices import Evidence, leaves_a_copy, wait_after


@pytest.mark.parametrize(
    ("known", "is_left"),
    [
        ((), False),
        ((Evidence.TAKEN,), True),
        ((Evidence.HANDED,), True),
        ((Evidence.TAKEN, Evidence.OPENED), True),
        # nothing stays with the customer
        ((Evidence.SHOWN,), False),
        ((Evidence.BOUNCED,), False),
        ((Evidence.TAKEN, Evidence.BOUNCED), False),
        # it came back, and then the paper was handed over
        ((Evidence.TAKEN, Evidence.BOUNCED, Evidence.HANDED), True),
        ((Evidence.TAKEN, Evidence.SHOWN), True),
    ],
)
def test_what_leaves_a_copy(known: tuple[Evidence, ...], is_left: bool) -> None:
    assert leaves_a_copy(known) is is_left


@pytest.mark.parametrize(
    ("attempts", "minutes"),
    [(0, 15), (1, 15), (2, 30), (3, 60), (5, 240), (6, 360), (7, 360), (10_000, 360)],
)
def test_the_wait_doubles_up_to_six_hours(attempts: int, minutes: int) -> None:
    assert wait_after(attempts) == timedelta(minutes=minutes)
