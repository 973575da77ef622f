"""Our key file: what is read from it and which line is refused."""

from __future__ import annotations

import pytest

from sites.rules.identification.key_file import BadKeyFile, read_key
from sites.rules.identification.words import Evidence

GOOD = """
# a remark
edition 2026-11-30
source UNI A university, 2020
trait legs! Legs | How many? | Count them.
value six Six
value eight Eight
trait size Length | How long? |
value s2 2 to 4 mm
taxon MITE | Mite | Mitus | invader | vacuum exclude
size 2-3 read UNI
text Small.
say Vacuum.
specimen
has legs eight derived UNI
taxon ANT | Ant | Formica | target | bait
has legs six
pair MITE ANT legs UNI
"""


def test_what_a_file_says() -> None:
    key = read_key(GOOD)
    mite, ant = key.taxa["MITE"], key.taxa["ANT"]
    assert (mite.advice, mite.needs_specimen, str(mite.mm_high)) == (
        ("vacuum", "exclude"),
        True,
        "3",
    )
    assert mite.traits["size"].values == {"s2"}
    assert mite.traits["size"].source == "A university, 2020"
    assert mite.traits["legs"].evidence is Evidence.DERIVED
    assert (ant.traits["legs"].evidence, ant.traits["legs"].source) == (Evidence.MEMORY, "")
    assert key.traits["legs"].excludes and not key.traits["size"].excludes
    assert (key.look_alikes[0].trait, key.edition) == ("legs", "2026-11-30")


@pytest.mark.parametrize(
    "line",
    [
        "moon full",
        "edition yesterday",
        "taxon X | Y",
        "taxon X | Y | Z | monster | bait",
        "taxon X | Y | Z | target | shout",
        "has legs nine",
        "has feet six",
        "has legs six guessed",
        "has legs six read NOBODY",
        "size long",
        "pair MITE BEE legs",
        "pair MITE ANT feet",
    ],
)
def test_a_line_that_cannot_be_read_is_named(line: str) -> None:
    with pytest.raises(BadKeyFile, match=rf"^Line {GOOD.count(chr(10)) + 1} cannot be read"):
        read_key(GOOD + line)
