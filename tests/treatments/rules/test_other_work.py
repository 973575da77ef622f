"""Amounts of work without a product, in words."""

from __future__ import annotations

from decimal import Decimal

import pytest

from treatments.rules.other_work import WorkAmounts, with_amounts

SAID = "Vacuumed the sun room."


@pytest.mark.parametrize(
    ("amounts", "told"),
    [
        (WorkAmounts(), SAID),
        (WorkAmounts(0, 0, Decimal(0)), SAID),
        (WorkAmounts(pieces=1), f"1 piece. {SAID}"),
        (WorkAmounts(1200, 15), f"1,200 pieces, 15 min. {SAID}"),
        (WorkAmounts(length=Decimal("6.50")), f"6.5 ft. {SAID}"),
        (WorkAmounts(2, 20, Decimal(3), "m"), f"2 pieces, 20 min, 3 m. {SAID}"),
    ],
)
def test_amounts_stand_before_what_was_done(amounts: WorkAmounts, told: str) -> None:
    assert with_amounts(SAID, amounts) == told
