"""The lots on the truck: own label, own last day; nothing aboard says nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.treatments.rules.label_cases import DAY, LABEL, USE
from treatments.rules.label_checks import allowed, check
from treatments.rules.label_checks.facts import CarriedLot
from treatments.rules.label_checks.lots import lots

GOOD = CarriedLot("L-1", "label of Jan 1, 2026", True, DAY + timedelta(days=30))
LAST_DAY = replace(GOOD, number="L-2", expires_on=DAY)
EXPIRED = replace(GOOD, number="L-3", expires_on=DAY - timedelta(days=1))
OPEN = replace(GOOD, number="L-4", expires_on=None)
OTHER = CarriedLot("L-5", "label of Jun 1, 2026", False, DAY + timedelta(days=30))


@pytest.mark.parametrize(
    ("aboard", "found"),
    [
        ((), []),
        ((GOOD,), [("lot", "note", "in date through Oct 10, 2026")]),
        # the day on the container is its last day
        ((LAST_DAY,), [("lot", "note", "in date through Sep 10, 2026")]),
        ((OPEN,), [("lot", "note", "without an expiry")]),
        ((EXPIRED,), [("lot_expired", "warn", "expired on Sep 9, 2026")]),
        ((EXPIRED, GOOD), [("lot_expired", "warn", "expired on"), ("lot", "note", "in date")]),
        # a lot with another label is judged by that one, not by this direction
        ((OTHER,), [("lot_label", "warn", "lot L-5 (label of Jun 1, 2026)")]),
        ((OTHER, GOOD), [("lot", "note", "in date")]),
    ],
)  # fmt: skip
def test_each_lot_gets_its_answer(
    aboard: tuple[CarriedLot, ...], found: list[tuple[str, str, str]]
) -> None:
    answers = lots(LABEL, replace(USE, lots=aboard))
    assert [(one.code, one.severity.value) for one in answers] == [row[:2] for row in found]
    for answer, (_, _, words) in zip(answers, found, strict=True):
        assert words in answer.sentence


def test_an_expired_lot_names_the_one_to_take_instead() -> None:
    answer = lots(LABEL, replace(USE, lots=(EXPIRED, GOOD)))[0]
    assert answer.to_do == "Take lot L-1 instead."
    alone = lots(LABEL, replace(USE, lots=(EXPIRED,)))[0]
    assert alone.to_do == "Take another lot from the store."


@pytest.mark.parametrize("aboard", [(EXPIRED,), (OTHER,)])
def test_what_is_known_from_stock_never_blocks(aboard: tuple[CarriedLot, ...]) -> None:
    use = replace(USE, lots=aboard)
    assert allowed(lots(LABEL, use))
    assert "Lots on the truck" in {one.clause for one in check(LABEL, use, before_mixing=True)}


def test_a_withdrawn_label_is_refused_by_its_own_check() -> None:
    withdrawn = replace(LABEL, not_to_be_used_after=date(2026, 9, 1))
    answers = check(withdrawn, replace(USE, lots=(GOOD,)), before_mixing=True)
    assert not allowed(answers)
