"""Every word that can be stored has a label people can read."""

from __future__ import annotations

import inspect
from enum import StrEnum
from types import ModuleType

import pytest

from sites.rules import places
from sites.rules.places import EXPOSURE_WORDS, choices
from treatments.rules import products


def word_lists(module: ModuleType) -> dict[str, type[StrEnum]]:
    return {
        name: found
        for name, found in vars(module).items()
        if inspect.isclass(found) and issubclass(found, StrEnum) and found is not StrEnum
    }


@pytest.mark.parametrize("module", [places, products])
def test_every_word_has_a_label(module: ModuleType) -> None:
    labeled: set[StrEnum] = set()
    for name, table in vars(module).items():
        if name.endswith("_WORDS"):
            labeled |= set(table)
            assert len(set(table.values())) == len(table), name
    for name, words in word_lists(module).items():
        assert set(words) <= labeled, name


def test_choices_are_plain_pairs_in_order() -> None:
    pairs = choices(EXPOSURE_WORDS)
    assert pairs == [("sheltered", "Sheltered"), ("shaded", "Shaded"), ("sun", "Full sun")]
    assert all(type(value) is str for value, _ in pairs)


def test_import_words_of_places() -> None:
    """The values a spreadsheet may carry are those of the import's description."""
    assert {one.value for one in places.Surface} == {
        "porous_masonry",
        "painted",
        "bare_wood",
        "metal_glass",
        "soil_mulch",
        "impervious",
    }
    assert len(places.Place) == 12 and len(places.Exposure) == 3
