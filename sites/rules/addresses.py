"""When two addresses are the same property, and which names and codes a record takes."""

from __future__ import annotations

import re
import unicodedata

ZIP = re.compile(r"(?!00000)[0-9]{5}(-[0-9]{4})?")
INITIAL = re.compile(r"[^\W\d_]\.?")
NAME_WORD = re.compile(r"[^\W\d_][^\W\d_'’.-]*(['’.-][^\W\d_]+)*\.?")

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
# fmt: off
US_STATES = frozenset(
    {
        "AL", "AK", "AZ", "AR", "CA", "CO", "CT", "DE", "DC", "FL", "GA", "HI", "ID", "IL",
        "IN", "IA", "KS", "KY", "LA", "ME", "MD", "MA", "MI", "MN", "MS", "MO", "MT", "NE",
        "NV", "NH", "NJ", "NM", "NY", "NC", "ND", "OH", "OK", "OR", "PA", "RI", "SC", "SD",
        "TN", "TX", "UT", "VT", "VA", "WA", "WV", "WI", "WY", "PR", "VI", "GU", "AS", "MP",
    }
)
# fmt: on


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


def is_zip(text: str) -> bool:
    """Five digits, or five and four; a record without ZIP fails in New York (regulations 7.4)."""
    return ZIP.fullmatch(text) is not None


def is_state(text: str) -> bool:
    """A two-letter code of a state, the District of Columbia or a territory, in capitals."""
    return text in US_STATES


def full_name_ok(name: str) -> bool:
    """At least two whole words and no initial (Oregon, reference/regulations.md 2.4)."""
    words = name.split()
    if len(words) < 2:
        return False
    return all(NAME_WORD.fullmatch(word) and not INITIAL.fullmatch(word) for word in words)
