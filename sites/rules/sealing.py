"""What may be closed, with what, and what must be asked before it is.

Openings that carry air to a flame, take its fumes away, or relieve pressure stay as they are:
closing one can kill. Weep holes and vents stay open and are screened. These are safety cautions
of this house in line with common practice; mechanical and fuel gas codes govern.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from accounts.refusals import Refused
from sites.rules.gaps import NM_MM


class Opening(StrEnum):
    """What an opening is for."""

    PLAIN = "plain"
    WEEP_HOLE = "weep_hole"
    VENT = "vent"
    COMBUSTION_AIR = "combustion_air"
    FLUE = "flue"
    DRYER = "dryer"
    RADON = "radon"
    GAS = "gas"
    RELIEF = "relief"


class Measure(StrEnum):
    """What is done about a finding."""

    SEAL = "seal"
    MESH = "mesh"
    SWEEP = "sweep"
    SCREEN = "screen"
    HARDWARE_CLOTH = "hardware_cloth"
    VEGETATION = "vegetation"
    MULCH = "mulch"
    MOISTURE = "moisture"
    CLEANING = "cleaning"
    OTHER_TRADE = "other_trade"
    OTHER = "other"


class Material(StrEnum):
    """What it is done with."""

    COPPER_MESH = "copper_mesh"
    SEALANT = "sealant"
    COPPER_AND_SEALANT = "copper_and_sealant"
    MORTAR = "mortar"
    SWEEP = "sweep"
    SCREEN_16 = "screen_16"
    SCREEN_20 = "screen_20"
    CLOTH_QUARTER = "cloth_quarter"
    NONE = "none"


class Does(StrEnum):
    """Who does the work."""

    FIRM = "firm"
    CUSTOMER = "customer"


class Inside(StrEnum):
    """What was seen when somebody looked for live animals at dusk."""

    NONE = "none"
    BATS = "bats"
    BIRDS = "birds"
    OTHER = "other"
    NOT_LOOKED = "not_looked"


OPENING_WORDS: Mapping[StrEnum, str] = {
    Opening.PLAIN: "A gap or hole with no purpose",
    Opening.WEEP_HOLE: "Weep hole",
    Opening.VENT: "Vent of attic, soffit, gable or crawl space",
    Opening.COMBUSTION_AIR: "Combustion air",
    Opening.FLUE: "Flue or chimney in use",
    Opening.DRYER: "Dryer outlet",
    Opening.RADON: "Radon outlet",
    Opening.GAS: "Gas meter or regulator vent",
    Opening.RELIEF: "Pressure relief",
}
MEASURE_WORDS: Mapping[StrEnum, str] = {
    Measure.SEAL: "Close it",
    Measure.MESH: "Fill with mesh, left able to drain and breathe",
    Measure.SWEEP: "Fit a door sweep or seal",
    Measure.SCREEN: "Fit a screen",
    Measure.HARDWARE_CLOTH: "Cover with hardware cloth",
    Measure.VEGETATION: "Cut plants back",
    Measure.MULCH: "Pull mulch and stored things back",
    Measure.MOISTURE: "Stop the water",
    Measure.CLEANING: "Clean up and keep clean",
    Measure.OTHER_TRADE: "Have the trade it belongs to see to it",
    Measure.OTHER: "Something else",
}
MATERIAL_WORDS: Mapping[StrEnum, str] = {
    Material.COPPER_MESH: "Copper mesh",
    Material.SEALANT: "Sealant",
    Material.COPPER_AND_SEALANT: "Copper mesh and sealant",
    Material.MORTAR: "Mortar",
    Material.SWEEP: "Sweep or rubber seal",
    Material.SCREEN_16: "Screen, 16 mesh (about 1.3 mm open)",
    Material.SCREEN_20: "Screen, 20 × 20 mesh (about 1.0 mm open)",
    Material.CLOTH_QUARTER: "Hardware cloth, 1/4 in",
    Material.NONE: "None",
}
DOES_WORDS: Mapping[StrEnum, str] = {Does.FIRM: "The firm", Does.CUSTOMER: "The customer"}
INSIDE_WORDS: Mapping[StrEnum, str] = {
    Inside.NONE: "Looked at dusk: none",
    Inside.BATS: "Bats",
    Inside.BIRDS: "Nesting birds",
    Inside.OTHER: "Other live animals",
    Inside.NOT_LOOKED: "Nobody looked",
}
# Clearances: Utah Pests News, Spring 2013 (read); the rest is common practice
ADVICE: Mapping[Measure, str] = {
    Measure.VEGETATION: "Plants 2 to 3 ft from the foundation, limbs at least 1 ft from wall and "
    "roof.",
    Measure.MULCH: "Mulch 3 to 6 in away from the wall and no deeper than 3 in; firewood off the "
    "soil and away from the house.",
    Measure.SWEEP: "No daylight under the door, corners of the threshold closed too.",
    Measure.MOISTURE: "Lead water away first: what sheds water keeps pests out.",
}
NEVER_SEALED = frozenset(
    {
        Opening.COMBUSTION_AIR,
        Opening.FLUE,
        Opening.DRYER,
        Opening.RADON,
        Opening.GAS,
        Opening.RELIEF,
    }
)
STAYS_OPEN = frozenset({Opening.WEEP_HOLE, Opening.VENT})
KEEPS_OPEN = (Measure.MESH, Measure.SCREEN, Measure.HARDWARE_CLOTH, Measure.OTHER_TRADE)
CLOSES = frozenset(
    {Measure.SEAL, Measure.MESH, Measure.SWEEP, Measure.SCREEN, Measure.HARDWARE_CLOTH}
)
HIGH_PLACES = frozenset({"eaves", "roof_vents", "attic", "attic_insulation"})
ASK_FROM_NM = 6 * NM_MM
LIVE_QUESTION = "Live animals inside? Look at dusk before it is closed."
REFERRED = frozenset({Inside.BATS, Inside.BIRDS})


def measures_for(opening: str) -> tuple[Measure, ...]:
    """What is offered for an opening: closing is never among it where the opening must work."""
    if opening in NEVER_SEALED:
        return (Measure.OTHER_TRADE,)
    if opening in STAYS_OPEN:
        return KEEPS_OPEN
    return tuple(Measure)


def stays_open_words(opening: str) -> str:
    """What a worker must read at an opening that stays open; empty at any other."""
    if opening in NEVER_SEALED:
        name = OPENING_WORDS[Opening(opening)].lower()
        return f"Never close or screen this: {name}. Call the trade it belongs to."
    if opening in STAYS_OPEN:
        name = OPENING_WORDS[Opening(opening)].lower()
        return f"This {name} must stay open: mesh or screen only, never closed solid."
    return ""


def refuse_measure(measure: str, opening: str) -> None:
    """Refuse what must not be done at an opening, or is on no list."""
    if measure not in list(Measure):
        raise Refused("measure", "Choose what is done from the list.", field="measure")
    if measure not in measures_for(opening):
        raise Refused("never_sealed", stays_open_words(opening), field="measure")


def asks_for_animals(checkpoint: str, gap_nm: int | None, measure: str) -> bool:
    """Whether closing it could shut animals in: 6 mm and more, high up (house rule)."""
    is_wide = gap_nm is None or gap_nm >= ASK_FROM_NM
    return measure in CLOSES and checkpoint in HIGH_PLACES and is_wide


def refuse_closing(inside: str) -> None:
    """Refuse to call work done behind which animals may live."""
    if inside == Inside.NONE:
        return
    if inside == Inside.OTHER:
        sentence = "Live animals are inside. Let them leave first, look again, then close it."
    elif inside in REFERRED:
        sentence = "Bats and nesting birds are not closed in. Refer it instead of calling it done."
    else:
        sentence = f"{LIVE_QUESTION} Answer it first."
    raise Refused("live_animals", sentence, field="inside")


@dataclass(frozen=True)
class ClosedSeason:
    """From when until when animals are not shut out of a place: one dated row of a rule."""

    code: str
    inside: Inside
    first: tuple[int, int]
    last: tuple[int, int]
    words: str
    source: str
    effective_on: date
    is_verified: bool = False
    state: str = ""


CLOSED_SEASONS: tuple[ClosedSeason, ...] = (
    ClosedSeason(
        "bats_young", Inside.BATS, (5, 1), (8, 15),
        "Young bats cannot fly yet: many states want no exclusion now.",
        "from memory, unverified: ask the state wildlife agency for its own days",
        date(2000, 1, 1),
    ),
    ClosedSeason(
        "birds_nesting", Inside.BIRDS, (3, 1), (8, 31),
        "Nests with eggs or young of most native birds are protected (16 U.S.C. 703).",
        "days from memory, unverified; the Act has no season",
        date(2000, 1, 1),
    ),
)  # fmt: skip


def seasons_on(day: date, state: str) -> tuple[ClosedSeason, ...]:
    """The closed seasons that hold on a day in a state; none of them blocks while unverified."""
    return tuple(
        one
        for one in CLOSED_SEASONS
        if one.effective_on <= day
        and one.state in ("", state)
        and one.first <= (day.month, day.day) <= one.last
    )
