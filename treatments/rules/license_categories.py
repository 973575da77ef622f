"""Which license category a use needs, and whether a license lists it.

Federal categories are of restricted-use products: 40 CFR 171.101(c), (g) and (h), read on a state's
page that quotes them. 7 Pa. Code 128.42 (read) and Ohio's licensing page (read) ask for a category
for every pesticide. No list of a state's codes was read whole, so every answer only warns.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from enum import StrEnum

from sites.rules.places import Place

FEDERAL = "40 CFR 171.101, categories of applicators"


class Category(StrEnum):
    """A federal category that structural work can fall under."""

    STRUCTURAL = "structural"
    ORNAMENTAL = "ornamental"


CATEGORY_WORDS: Mapping[str, str] = {
    Category.STRUCTURAL: "industrial, institutional and structural pest control",
    Category.ORNAMENTAL: "ornamental and turf pest control",
}
# words by which a license may name a category
SIGNS: Mapping[Category, tuple[str, ...]] = {
    Category.STRUCTURAL: ("structural", "institutional", "household", "general pest"),
    Category.ORNAMENTAL: ("ornamental", "turf", "lawn"),
}
# codes of states as read: 7 Pa. Code 128.42(6) and (7); Ohio's licensing page for 6a and 8, notes
# for its examination (second hand) for 10a
CODES: Mapping[str, Mapping[str, Category]] = {
    "OH": {
        "10a": Category.STRUCTURAL,
        "6a": Category.ORNAMENTAL,
        "8": Category.ORNAMENTAL,
    },
    "PA": {
        **dict.fromkeys(("6", "06", "7", "07"), Category.ORNAMENTAL),
    },
}
# whose rule asks for a category whatever the product
EVERY_PESTICIDE: Mapping[str, str] = {
    "OH": "Ohio commercial applicator license, one category for each kind of work",
    "PA": "7 Pa. Code 128.42, categories of applicators",
}
# away from any structure work on plants is ornamental and turf; around one it may be either
ON_PLANTS = frozenset({Place.VEGETATION})


def categories_that_do(places: Collection[Place]) -> frozenset[str]:
    """The categories of which one is enough for work on these places.

    171.101(g) is in, on and around structures and adjacent areas; (c) plants and turf.
    """
    if places and ON_PLANTS.issuperset(places):
        return frozenset({Category.STRUCTURAL, Category.ORNAMENTAL})
    return frozenset({Category.STRUCTURAL})


def rule_asking(state: str, *, is_restricted_use: bool) -> str:
    """Which rule asks for a category; empty where none was read."""
    return FEDERAL if is_restricted_use else EVERY_PESTICIDE.get(state, "")


def lists_one_of(held: Iterable[str], wanted: Collection[str], state: str) -> bool:
    """Whether a license of a state lists one of the wanted categories, by name, word or code."""
    return any(_is_one_of(one.strip().casefold(), wanted, state) for one in held)


def _is_one_of(held: str, wanted: Collection[str], state: str) -> bool:
    if any(held == name.casefold() for name in wanted):
        return True
    code = held.partition(" ")[0]
    if CODES.get(state, {}).get(code) in wanted:
        return True
    signs = (sign for known, words in SIGNS.items() if known in wanted for sign in words)
    return any(sign in held for sign in signs)


def wanted_words(wanted: Iterable[str]) -> str:
    """Industrial, institutional and structural pest control, or ornamental and turf."""
    return " or ".join(CATEGORY_WORDS.get(name, name) for name in sorted(wanted))


def listed_words(held: Collection[str]) -> str:
    """What the license lists, as entered."""
    return ", ".join(sorted(held)) or "none entered"
