"""Whether the days of a report are closed; house rule: the last closed day is inside."""

from __future__ import annotations

from datetime import date

import pytest

from treatments.rules.periods import Standing, standing, standing_words

SEP, OCT = date(2026, 9, 30), date(2026, 10, 31)


@pytest.mark.parametrize(
    ("through", "found"),
    [
        (None, Standing.OPEN),
        (date(2026, 9, 30), Standing.OPEN),
        (date(2026, 10, 1), Standing.IN_PART),
        (date(2026, 10, 30), Standing.IN_PART),
        (date(2026, 10, 31), Standing.CLOSED),
        (date(2026, 11, 30), Standing.CLOSED),
    ],
)
def test_october_is_closed_as_far_as_the_log_is(through: date | None, found: Standing) -> None:
    assert standing(date(2026, 10, 1), OCT, through) is found


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ({}, "not closed yet; records may still come or be corrected"),
        ({"Aby": (Standing.OPEN, None)}, "not closed yet; records may still come or be corrected"),
        (
            {"Aby": (Standing.CLOSED, OCT), "Bly": (Standing.CLOSED, OCT)},
            "closed; nothing in these days changes without a reopening",
        ),
        (
            {"Bly": (Standing.IN_PART, SEP), "Aby": (Standing.CLOSED, OCT)},
            "Aby: closed; Bly: closed through Sep 30, 2026, open after it",
        ),
        (
            {"Aby": (Standing.CLOSED, OCT), "Bly": (Standing.OPEN, None)},
            "Aby: closed; Bly: not closed yet",
        ),
    ],
)
def test_it_is_said_once_or_branch_by_branch(
    found: dict[str, tuple[Standing, date | None]], words: str
) -> None:
    assert standing_words(found) == words
