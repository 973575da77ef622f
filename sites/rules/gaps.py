"""Which pests a measured slit or hole lets in, by published limits.

A limit is what a study or guide saw pass and what it saw stopped. Between the two, and up to
1.5 mm under what passes, an opening *may pass* (house rule). Sizes are whole nanometers, so that
3/16 in and 4.76 mm are told apart exactly.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from accounts.refusals import Refused

NM_IN, NM_MM = 25_400_000, 1_000_000  # 1 in is 25.4 mm exactly
MARGIN_NM = 3 * NM_MM // 2
WIDEST_NM = 300 * NM_MM  # house rule: what is wider is an opening left open, not a gap
FINEST = 64
TYPED_MM = re.compile(r"[0-9]{1,4}(\.[0-9]{1,3})?")
TYPED_IN = re.compile(r"[0-9]{1,3}(\.[0-9]{1,4})?")
TYPED_FRACTION = re.compile(r"(?:([0-9]{1,2})[ -])?([0-9]{1,2})/([0-9]{1,2})")


class Shape(StrEnum):
    """A slit is measured by its width, a hole by its diameter."""

    SLIT = "slit"
    HOLE = "hole"


class Passes(StrEnum):
    """The three answers; nothing is ever said to be shut out."""

    YES = "passes"
    MAY = "may_pass"
    NOT_SHOWN = "not_shown"


SHAPE_WORDS: Mapping[StrEnum, str] = {
    Shape.SLIT: "Slit (its width)",
    Shape.HOLE: "Hole (its diameter)",
}
PASSES_WORDS: Mapping[StrEnum, str] = {
    Passes.YES: "passes",
    Passes.MAY: "may pass",
    Passes.NOT_SHOWN: "not shown to pass",
}


@dataclass(frozen=True)
class Limit:
    """What is published of one shape in nanometers: it passes from here, it is stopped up to."""

    passes_nm: int
    stopped_nm: int = 0
    note: str = ""


@dataclass(frozen=True)
class GapPest:
    """One pest (or size class) with its limits; `hole` is None where only slits were tried."""

    code: str
    name: str
    slit: Limit
    hole: Limit | None
    keep_under: str
    source: str
    scientific: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()


def _mm(tenths: int) -> int:
    return tenths * NM_MM // 10


_SMALL, _MOUSE, _RAT = (Limit(NM_IN // part) for part in (16, 4, 2))
GAP_PESTS: tuple[GapPest, ...] = (
    GapPest(
        "small", "Small ants and spiders", _SMALL, _SMALL,
        "a sweep and caulk; no size keeps all of them out",
        "University of Kentucky, pest-proofing (read): 1/16 in or less",
        groups=("ants", "spiders"),
    ),
    GapPest(
        "lady_beetle", "Multicolored Asian lady beetle", Limit(_mm(30), _mm(20)), None,
        "2 mm, rigid; flexible foam may be forced",
        "Nalepa 2007, J. Econ. Entomol. 100:1633 (read in part): 83 % through 3 mm, none "
        "through 2 mm",
        scientific=("harmonia axyridis",),
    ),
    GapPest(
        "stink_bug", "Brown marmorated stink bug", Limit(_mm(40), _mm(30)),
        Limit(_mm(80), 0, "one male passed a 7 mm hole in the study"),
        "a 3 mm slit, a 7 mm hole",
        "Chambers 2019 and 2020, USDA-ARS 357838 and 370669 (read in part): passes a 4 mm slit "
        "and an 8 mm hole, none through a 3 mm slit",
        scientific=("halyomorpha halys",),
    ),
    GapPest(
        "mouse", "House mouse", _MOUSE, _MOUSE, "6 mm",
        "University of Kentucky, pest-proofing; Texas school IPM, Nov 2014 (read): 1/4 in",
        scientific=("mus musculus",),
    ),
    GapPest(
        "rat", "Rats", _RAT, _RAT, "12 mm",
        "University of Kentucky, pest-proofing; wildlife damage handbook text (read): 1/2 in",
        scientific=("rattus",),
    ),
)  # fmt: skip
BY_CODE: Mapping[str, GapPest] = {one.code: one for one in GAP_PESTS}


@dataclass(frozen=True)
class Gap:
    """An opening as measured: shape, whole nanometers, and the words as typed with the unit."""

    shape: Shape
    nm: int
    text: str = ""


@dataclass(frozen=True)
class Admitted:
    """What is published of one pest at one opening."""

    pest: GapPest
    passes: Passes
    note: str = ""

    @property
    def word(self) -> str:
        return PASSES_WORDS[self.passes]


def parse_gap(typed: str, unit: str, shape: str) -> Gap:
    """Read a gap: 4.5 mm, 3/16 in, 1 1/4 in, 0.25 in.

    `unit` is mm or in. Refused: no number, zero, wider than 300 mm, a fraction that no ruler has
    (halves to sixty-fourths), another unit or shape.
    """
    text = " ".join(typed.split())
    if unit not in ("mm", "in") or shape not in list(Shape):
        raise _refused("Say whether it is a slit or a hole, in mm or in inches.")
    nm = _mm_in_nm(text) if unit == "mm" else _inches_in_nm(text)
    if nm <= 0:
        raise _refused("A gap of nothing is no gap. Measure it, or leave the field empty.")
    if nm > WIDEST_NM:
        sentence = "is wider than 300 mm (11.8 in): no gap. Check the unit, or enter it as damage."
        raise _refused(f"{text} {unit} {sentence}")
    return Gap(Shape(shape), nm, f"{text} {unit}")


def _mm_in_nm(text: str) -> int:
    if not TYPED_MM.fullmatch(text):
        raise _refused("Type the gap in mm as a number like 4.5.")
    return int(Fraction(text) * NM_MM)


def _inches_in_nm(text: str) -> int:
    if TYPED_IN.fullmatch(text):
        return int(Fraction(text) * NM_IN)
    found = TYPED_FRACTION.fullmatch(text)
    if not found:
        raise _refused("Type the gap in inches as 1/4, 1 1/4 or 0.25.")
    whole, above, below = (int(part or 0) for part in found.groups())
    if below not in (2, 4, 8, 16, 32, FINEST) or above >= below:
        raise _refused(f"{text} is no mark of a ruler. Type halves to sixty-fourths, like 3/16.")
    return (whole * below + above) * (NM_IN // below)


def _refused(sentence: str) -> Refused:
    return Refused("gap", sentence, field="gap")


def admitted_by(gap: Gap) -> tuple[Admitted, ...]:
    """Every pest with what is published of it at this opening, in the order of the list."""
    return tuple(_judged(pest, gap) for pest in GAP_PESTS)


def lets_in(gap: Gap) -> tuple[Admitted, ...]:
    """Only those that pass or may pass."""
    return tuple(one for one in admitted_by(gap) if one.passes is not Passes.NOT_SHOWN)


def _judged(pest: GapPest, gap: Gap) -> Admitted:
    limit = pest.slit if gap.shape is Shape.SLIT else pest.hole
    if limit is not None:
        answer = _at(limit, gap.nm)
        return Admitted(pest, answer, limit.note if answer is Passes.MAY else "")
    # a hole is never easier than a slit of its diameter: what stops in the slit stops here too
    answer = _at(pest.slit, gap.nm)
    if answer is Passes.YES:
        return Admitted(pest, Passes.MAY, "published for slits only")
    return Admitted(pest, answer)


def _at(limit: Limit, nm: int) -> Passes:
    if nm >= limit.passes_nm:
        return Passes.YES
    if nm > limit.stopped_nm and nm >= limit.passes_nm - MARGIN_NM:
        return Passes.MAY
    return Passes.NOT_SHOWN


def lets_in_words(gap: Gap) -> str:
    """Passes: house mouse, rats. May pass: ...; each group once, in the order of the list."""
    found = lets_in(gap)
    groups = [
        (word, [one.pest.name for one in found if one.passes is answer])
        for answer, word in ((Passes.YES, "Passes"), (Passes.MAY, "May pass"))
    ]
    told = [f"{word}: {', '.join(names)}." for word, names in groups if names]
    return " ".join(told) or "None is shown to pass."


def weight_of(gap: Gap, seen: Mapping[str, int]) -> int:
    """How much there is to win by closing a gap: pests let in, each times how often it was here.

    `seen` counts by `GapPest.code`. What passes counts twice what may pass, and a pest never seen
    here still counts once (house rule).
    """
    return sum(
        (2 if one.passes is Passes.YES else 1) * (1 + seen.get(one.pest.code, 0))
        for one in lets_in(gap)
    )


def codes_of(scientific_name: str, group: str) -> frozenset[str]:
    """Which size classes a pest of the list belongs to, by its scientific name, else its group."""
    name = scientific_name.lower()
    return frozenset(
        one.code
        for one in GAP_PESTS
        if any(name.startswith(known) for known in one.scientific) or group in one.groups
    )


def count_seen(pests: Iterable[tuple[str, str]]) -> dict[str, int]:
    """Count sightings, each a scientific name and a pest group, by size class."""
    counts: dict[str, int] = {}
    for scientific_name, group in pests:
        for code in codes_of(scientific_name, group):
            counts[code] = counts.get(code, 0) + 1
    return counts


def mesh_opening_nm(meshes_per_inch: int, wire_in: Fraction) -> int:
    """The clear opening of a woven screen: pitch less wire (plane geometry), cut to whole nm."""
    return int((Fraction(1, meshes_per_inch) - wire_in) * NM_IN)
