"""Beneficial species and those one refers: a house rule, it warns."""

from __future__ import annotations

from dataclasses import replace

from tests.treatments.rules.label_cases import LABEL, USE, judged


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
