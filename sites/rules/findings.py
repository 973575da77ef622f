"""What is found in a building: kinds, severity, conditions, and what a finding must say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from uuid import UUID

from accounts.refusals import Refused
from sites.rules.checkpoints import BY_CODE
from sites.rules.gaps import Gap, parse_gap
from sites.rules.sealing import Opening

LONGEST_NOTE = 1000
NOT_WOOD_DESTROYING = (
    "This is a general pest inspection. It is not a wood-destroying insect or organism "
    "inspection or report."
)
REFER_WOOD = "Refer to a firm licensed in that category."


class FindingKind(StrEnum):
    """What was found."""

    EVIDENCE = "evidence"
    LIVE = "live"
    ENTRY = "entry"
    CONDITION = "condition"
    STAIN = "stain"
    DAMAGE = "damage"


class Severity(StrEnum):
    """How soon somebody should act."""

    NOTE = "note"
    SOON = "soon"
    NOW = "now"


class ClosingKind(StrEnum):
    """What became of a finding."""

    FIXED = "fixed"
    GONE = "gone"
    TREATED = "treated"
    MISTAKEN = "mistaken"


KIND_WORDS: Mapping[StrEnum, str] = {
    FindingKind.EVIDENCE: "Evidence of pests",
    FindingKind.LIVE: "Live pests",
    FindingKind.ENTRY: "Entry point",
    FindingKind.CONDITION: "Condition that invites pests",
    FindingKind.STAIN: "Stain or odor",
    FindingKind.DAMAGE: "Damage",
}
SEVERITY_WORDS: Mapping[StrEnum, str] = {
    Severity.NOTE: "Note",
    Severity.SOON: "Fix soon",
    Severity.NOW: "Fix now",
}
SEVERITY_ORDER = tuple(SEVERITY_WORDS)
CLOSING_WORDS: Mapping[StrEnum, str] = {
    ClosingKind.FIXED: "Fixed or sealed",
    ClosingKind.GONE: "Looked again: not there any more",
    ClosingKind.TREATED: "Treated",
    ClosingKind.MISTAKEN: "Entered by mistake",
}
# Conditions that checklists of school and housing programs name (read in part); words are ours
CONDITION_WORDS: Mapping[str, str] = {
    "moisture_leak": "Leak or damp",
    "poor_grade": "Ground slopes to the house",
    "clogged_gutter": "Clogged gutter",
    "deep_mulch": "Mulch deeper than 3 in",
    "mulch_at_wall": "Mulch against the wall",
    "plants_at_wall": "Plants touch the wall",
    "limbs_near": "Limbs within 1 ft of the house",
    "firewood": "Firewood at the wall",
    "clutter": "Clutter",
    "open_garbage": "Garbage open",
    "food_residue": "Food residue",
    "pet_food": "Pet food out",
    "bird_feed": "Bird feed",
    "broken_screen": "Broken screen",
    "wood_on_soil": "Wood touches soil",
    "condensation": "Condensation",
    "white_light": "Bright white light at a door",
    "standing_water": "Standing water",
    "sunny_wall": "Bare sunny wall beside host trees",
    "field_edge": "Field or woodland edge",
    "crawl_humidity": "Humid crawl space",
    "fallen_fruit": "Fruit on the ground",
    "open_attic_vent": "Attic vent without screen",
    "wormy_turf": "Turf rich in earthworms",
}


@dataclass(frozen=True)
class NewFinding:
    """A finding as typed; `gap` with its unit and shape is text, empty where none was measured."""

    client_ref: UUID
    inspection_id: int
    checkpoint: str
    kind: str
    severity: str
    where: str = ""
    pest_id: int | None = None
    condition: str = ""
    gap: str = ""
    gap_unit: str = "mm"
    gap_shape: str = "slit"
    opening: str = Opening.PLAIN
    note: str = ""

    @property
    def digest(self) -> str:
        """What tells the same form sent again from another one with the same number."""
        said = "\x1f".join(f"{name}={value}" for name, value in vars(self).items())
        return sha256(said.encode()).hexdigest()


def gap_of(new: NewFinding) -> Gap | None:
    """The opening as measured; None where none was typed."""
    if not new.gap.strip():
        return None
    return parse_gap(new.gap, new.gap_unit, new.gap_shape)


def refuse_finding(new: NewFinding) -> None:
    """Refuse a finding that names what is on no list, or says too little to act on."""
    for field, value, known in (
        ("checkpoint", new.checkpoint, BY_CODE),
        ("kind", new.kind, list(FindingKind)),
        ("severity", new.severity, list(Severity)),
        ("opening", new.opening, list(Opening)),
        ("condition", new.condition or "moisture_leak", CONDITION_WORDS),
    ):
        if value not in known:
            raise Refused("choice", "Choose one from the list.", field=field)
    if new.kind == FindingKind.LIVE and new.pest_id is None:
        raise Refused("finding_pest", "Live pests: say which.", field="pest")
    if new.kind == FindingKind.CONDITION and not new.condition:
        raise Refused("finding_condition", "Say which condition it is.", field="condition")
    if new.kind == FindingKind.ENTRY and gap_of(new) is None:
        raise Refused("finding_gap", "An entry point: measure it, slit or hole.", field="gap")


def refuse_time(at: datetime, now: datetime) -> None:
    """Refuse a moment that has not come yet."""
    if at > now:
        raise Refused("future", "That has not happened yet. Check the time.", field="on")
