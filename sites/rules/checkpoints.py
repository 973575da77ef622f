"""The 25 places an inspection looks at, outside and inside, and what to look for at each.

The list follows what school and housing inspection forms and pest-proofing guides name (Texas
AgriLife school checklist; Utah Pests News, Spring 2013; University of Kentucky pest-proofing;
read in part). The words are ours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Side(StrEnum):
    """Which of the two rounds a checkpoint belongs to."""

    OUTSIDE = "outside"
    INSIDE = "inside"


SIDE_WORDS: Mapping[StrEnum, str] = {Side.OUTSIDE: "Outside", Side.INSIDE: "Inside"}


@dataclass(frozen=True)
class Checkpoint:
    """One place of the round: its number, its name, what to look for.

    `place` is the use site a zone there would have.
    """

    code: str
    number: int
    side: Side
    name: str
    look_for: str
    place: str


def _rows(side: Side, first: int, rows: tuple[tuple[str, str, str, str], ...]) -> list[Checkpoint]:
    return [
        Checkpoint(code, number, side, name, look_for, place)
        for number, (code, name, look_for, place) in enumerate(rows, start=first)
    ]


_OUTSIDE = (
    ("foundation", "Foundation and sill plate",
     "Cracks in the wall, the line where wood meets masonry, soil against siding, ant trails.",
     "foundation_wall"),
    ("weep_holes", "Weep holes and brick vents",
     "Open weeps without mesh, missing vent bricks. They drain the wall: never closed solid.",
     "entry_point"),
    ("siding", "Siding laps and corner posts",
     "Open ends of channels, loose laps, hollow corner posts, insects gathering in the sun.",
     "foundation_wall"),
    ("penetrations", "Pipes, wires and lines through the wall",
     "Gas, cable, faucet, cooling lines: gaps round them, rub marks, crumbled filler.",
     "entry_point"),
    ("doors", "Doors and thresholds",
     "Daylight under the sweep, worn side strips, open threshold corners.", "entry_point"),
    ("garage_door", "Garage door",
     "Bottom seal hard or gnawed, gaps at both corners, daylight along the sides.", "entry_point"),
    ("windows", "Windows, screens and frames",
     "Torn or loose screens, gaps at frames and weeps of the frame, insects on the sill.",
     "entry_point"),
    ("eaves", "Eaves, soffit and fascia",
     "Gaps at the fascia, slipped soffit, nests, staining, droppings below.", "eave_soffit"),
    ("roof_vents", "Roof, gable and ridge vents, chimney cap",
     "Screens missing or torn, cap missing, nests. Look from the ground or from a safe ladder.",
     "eave_soffit"),
    ("gutters", "Gutters, downspouts, standing water",
     "Clogged gutters, water at the wall, buckets and saucers, poor grade.", "open_space"),
    ("vegetation", "Plants and tree limbs",
     "Plants touching the wall, limbs within reach of the roof, host trees at sunny walls.",
     "vegetation"),
    ("mulch", "Mulch, firewood, stored things",
     "Mulch deep or against the wall, wood on soil at the house, piles to hide in.", "soil_band"),
    ("attractants", "Trash, pet food, lights, bird feeders",
     "Open bins, spilled feed, bright white light at doors, fruit on the ground.", "open_space"),
)  # fmt: skip
_INSIDE = (
    ("basement_sill", "Basement sill and rim joist",
     "Daylight, webs, frass, droppings along the sill, moist wood.", "crack_crevice"),
    ("crawl_space", "Crawl space",
     "Access door tight, ground cover whole, wood on soil, damp, tubes of soil on walls.",
     "crawl_space"),
    ("attic", "Attic: vents, daylight, droppings",
     "Daylight at eaves and vents, clusters of insects, droppings, wasp nests.", "attic"),
    ("attic_insulation", "Attic insulation",
     "Runways, tunnels, nests, urine marks.", "attic"),
    ("kitchen", "Kitchen: under and behind appliances",
     "Grease, crumbs, droppings, live insects in warm motor spaces.", "food_area"),
    ("drains", "Sinks, traps and floor drains",
     "Leaks, dry traps, small flies, slime in the drain.", "interior_spot"),
    ("cabinets", "Cabinets: hinges and base void",
     "Spots at hinges, egg cases, holes round pipes, the void behind the kick board.",
     "crack_crevice"),
    ("baths", "Baths, tub trap, toilets",
     "Access panel, loose toilet, damp, silverfish, ants at tile joints.", "interior_spot"),
    ("laundry", "Laundry and water heater",
     "Leaks, lint, gaps round lines. Openings for air and flue stay open.", "interior_spot"),
    ("electrical", "Electrical panels and conduits",
     "Openings round conduits, insects in outlet boxes. Do not reach or spray into live parts.",
     "void"),
    ("sills_lights", "Window sills and light fixtures",
     "Dead insects: which and how many show what came in and where.", "interior_spot"),
    ("stored", "Baseboards, closets, stored and pet food",
     "Shed skins, webbing in food, droppings, gnaw marks, gaps at the baseboard.",
     "crack_crevice"),
)  # fmt: skip
CHECKPOINTS: tuple[Checkpoint, ...] = (
    *_rows(Side.OUTSIDE, 1, _OUTSIDE),
    *_rows(Side.INSIDE, len(_OUTSIDE) + 1, _INSIDE),
)
BY_CODE: Mapping[str, Checkpoint] = {one.code: one for one in CHECKPOINTS}
CHECKPOINT_CHOICES = [(one.code, f"{one.number} {one.name}") for one in CHECKPOINTS]
