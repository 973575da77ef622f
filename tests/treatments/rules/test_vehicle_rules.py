"""The weekly check of a vehicle: seven days, common practice, no source."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from accounts.refusals import Refused
from treatments.rules.vehicles import Found, VehicleItem, check_standing, refuse_half_check

TODAY = date(2026, 11, 25)
ALL_ABOARD = dict.fromkeys(VehicleItem, Found(True))


@pytest.mark.parametrize(
    ("days_ago", "missing", "state", "word"),
    [
        (None, (), "late", "Never checked"),
        (0, (), "ok", "Checked, complete"),
        (7, (), "ok", "Checked, complete"),
        (8, (), "late", "Check overdue, it was due Nov 24, 2026"),
        (1, ("eyewash",), "check", "Missing: eyewash"),
        (9, ("eyewash",), "late", "Check overdue, it was due Nov 23, 2026. Missing: eyewash"),
    ],
)
def test_how_a_vehicle_stands(
    days_ago: int | None, missing: tuple[str, ...], state: str, word: str
) -> None:
    last = None if days_ago is None else TODAY - timedelta(days=days_ago)
    standing = check_standing(last, TODAY, missing)
    assert (standing.state, standing.word) == (state, word)
    assert standing.is_overdue == (state == "late")


@pytest.mark.parametrize("item", list(VehicleItem))
def test_every_item_is_answered_and_a_missing_one_has_a_note(item: VehicleItem) -> None:
    refuse_half_check(ALL_ABOARD)
    refuse_half_check(ALL_ABOARD | {item: Found(False, "Ordered")})
    with pytest.raises(Refused) as left_out:
        refuse_half_check({one: found for one, found in ALL_ABOARD.items() if one != item})
    assert left_out.value.facts["field"] == item.value
    with pytest.raises(Refused) as silent:
        refuse_half_check(ALL_ABOARD | {item: Found(False, " ")})
    assert silent.value.facts["field"] == f"{item.value}_note"
