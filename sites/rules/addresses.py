"""When two addresses are the same property."""

from __future__ import annotations

import re
import unicodedata

# Postal short forms of the words that differ most between two spellings of one street
# (from memory of the postal addressing standard; used only to compare, never to rewrite).
SHORT_FORMS = {
    "STREET": "ST",
    "AVENUE": "AVE",
    "AV": "AVE",
    "BOULEVARD": "BLVD",
    "CIRCLE": "CIR",
    "COURT": "CT",
    "DRIVE": "DR",
    "HIGHWAY": "HWY",
    "LANE": "LN",
    "PARKWAY": "PKWY",
    "PLACE": "PL",
    "ROAD": "RD",
    "SQUARE": "SQ",
    "TERRACE": "TER",
    "TRAIL": "TRL",
    "NORTH": "N",
    "SOUTH": "S",
    "EAST": "E",
    "WEST": "W",
    "NORTHEAST": "NE",
    "NORTHWEST": "NW",
    "SOUTHEAST": "SE",
    "SOUTHWEST": "SW",
    "APARTMENT": "APT",
    "SUITE": "STE",
    "SAINT": "ST",
    "MOUNT": "MT",
    "FORT": "FT",
}


def address_key(street: str, city: str, state: str, zip_code: str) -> str:
    """One text for every spelling of the same service address.

    Case, accents, punctuation, spaces, common short forms and the last four digits of a
    nine-digit ZIP do not count.
    """
    parts = (_words(street), _words(city), _words(state), zip_code.strip()[:5])
    return "|".join(parts)


def _words(text: str) -> str:
    bare = unicodedata.normalize("NFKD", text)
    bare = "".join(mark for mark in bare if not unicodedata.combining(mark)).upper()
    bare = re.sub(r"['’.]", "", bare).replace("#", " APT ")
    words = [SHORT_FORMS.get(word, word) for word in re.findall(r"\w+", bare)]
    return " ".join(word for spot, word in enumerate(words) if word != "APT" or _first(words, spot))


def _first(words: list[str], spot: int) -> bool:
    return spot == 0 or words[spot - 1] != "APT"
