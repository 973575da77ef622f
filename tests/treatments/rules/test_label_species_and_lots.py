"""Beneficial species and lots out of date: house rules, they warn."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.treatments.rules.label_cases import DAY, LABEL, USE, judged
from treatments.rules.label_checks import allowed, check


def test_a_beneficial_species_is_left_alone_and_some_are_referred() -> None:
    pests = dict(USE.pests) | {"House centipede": USE.pests["Boxelder bug"]}
    use = replace(USE, pests=pests, beneficial=frozenset({"House centipede", "Lacewing"}))
    (found,) = judged("species", LABEL, use)
    assert (found.severity, found.sentence) == ("warn", "House centipede is beneficial.")
    (found,) = judged(
        "species", LABEL, replace(use, beneficial=frozenset(), referred={"Boxelder bug"})
    )
    assert "referred to a specialist" in found.sentence
    assert judged("species") == []


@pytest.mark.parametrize(("days", "warns"), [(-1, True), (0, False), (1, False), (None, False)])
def test_a_lot_is_in_date_through_its_last_day(days: int | None, warns: bool) -> None:
    last = None if days is None else DAY + timedelta(days=days)
    use = replace(USE, lots=(("L-1", last),))
    assert [one.severity for one in judged("out_of_date", LABEL, use)] == ["warn"] * warns
    assert allowed(check(LABEL, use, before_mixing=True))
