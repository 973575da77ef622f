"""The sheet of walls as typed: name, length and heading of each, in walking order."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.plan_outline import FULL_TURN, POINTS, Outline, Wall
from sites.rules.units import canonical, from_canonical, group, parse_amount, plain

LONGEST_NAME = 60
# a zone takes no more runs, and a band goes along any of the walls
MOST_WALLS = 20
# far above any building
LONGEST_WALL = Decimal(10_000)
TURN = re.compile(r"(left|right)(?:\s+([0-9]+(?:\.[0-9])?))?\s*°?")
DEGREES = re.compile(r"([0-9]+(?:\.[0-9])?)\s*°?")
COMPASS = {name: number * 450 for number, name in enumerate(POINTS)} | {
    short: number * 450 for number, short in enumerate(("n", "ne", "e", "se", "s", "sw", "w", "nw"))
}


@dataclass(frozen=True)
class TypedWall:
    """One row of the sheet; `row` is where it stands on the form, for the error."""

    row: int
    name: str
    length: str
    heading: str


@dataclass(frozen=True)
class NewWall:
    """A wall that was read: as typed, and in whole mm and tenths of a degree."""

    name: str
    length: str
    length_mm: int
    heading: str
    heading_tenths: int


def read_walls(rows: Sequence[TypedWall], unit: str) -> tuple[NewWall, ...]:
    """Read the sheet; rows without anything are left out.

    Refused, naming the field: a row without name, length or heading, a name twice, a first wall
    that turns from nothing, more walls than a zone can have runs.
    """
    found: list[NewWall] = []
    for typed in rows:
        if not (typed.name or typed.length or typed.heading).strip():
            continue
        found.append(_wall(typed, unit, found))
    if len(found) > MOST_WALLS:
        raise Refused("walls", f"A sheet has at most {MOST_WALLS} walls. Join short ones.")
    return tuple(found)


def outline_of(walls: Sequence[NewWall]) -> Outline:
    """The walk of walls that were just read."""
    return Outline(tuple(Wall(one.name, one.length_mm, one.heading_tenths) for one in walls))


def heading_of(text: str, before: int | None) -> int:
    """A heading in tenths of a degree from degrees, a compass point or a turn.

    `before` is the heading of the wall before, which a turn ("left 90", "right") counts from.
    Refused: anything else, more than 360 degrees, a turn of the first wall.
    """
    typed = " ".join(text.casefold().split())
    if typed in COMPASS:
        return COMPASS[typed]
    if plainly := DEGREES.fullmatch(typed):
        return _tenths(plainly[1], FULL_TURN) % FULL_TURN
    turn = TURN.fullmatch(typed)
    if turn is None:
        raise _refused(
            f"{text[:20]!r} is no heading. Type degrees (90), a compass point (E) or a turn "
            "(left 90)."
        )
    if before is None:
        raise _refused("The first wall cannot turn. Type its compass heading, like 90 or east.")
    tenths = _tenths(turn[2] or "90", FULL_TURN // 2)
    return (before + (tenths if turn[1] == "right" else -tenths)) % FULL_TURN


def length_words(mm: int, unit: str) -> str:
    """A length for people in ft or m, with at most one decimal: "26.5 ft"."""
    value = from_canonical(mm, unit).quantize(Decimal("0.1"))
    return f"{group(Decimal(plain(value)))} {unit}"


def gap_words(outline: Outline, unit: str) -> str:
    """What is wrong with a walk that does not come back; empty for one that does."""
    if not outline.walls or outline.closes:
        return ""
    if len(outline.walls) < 3:
        return "Fewer than three walls enclose nothing yet."
    how_far = length_words(outline.gap_mm, unit)
    return (
        f"The walls do not close: the end is {how_far} {outline.gap_toward} of the beginning. "
        "Check lengths and headings; the sheet can be used as it is."
    )


def _wall(typed: TypedWall, unit: str, before: Sequence[NewWall]) -> NewWall:
    name = " ".join(typed.name.split()).rstrip(", ")
    if not name:
        raise _at(typed, "name", "Name this wall: north wall, garage side.")
    if len(name) > LONGEST_NAME:
        raise _at(typed, "name", f"A wall's name has {LONGEST_NAME} letters at most.")
    if name.casefold() in {one.name.casefold() for one in before}:
        raise _at(typed, "name", f"Two walls are named {name}. Tell them apart.")
    try:
        value = parse_amount(typed.length, unit, at_most=LONGEST_WALL).value
    except Refused as refused:
        raise _at(typed, "length", refused.sentence) from refused
    length_mm = canonical(value, unit)
    if not length_mm:
        raise _at(typed, "length", "This wall has no length. Measure it.")
    try:
        heading = heading_of(typed.heading, before[-1].heading_tenths if before else None)
    except Refused as refused:
        raise _at(typed, "heading", refused.sentence) from refused
    return NewWall(name, plain(value), length_mm, " ".join(typed.heading.split()), heading)


def _tenths(typed: str, most: int) -> int:
    tenths = int(Decimal(typed) * 10)
    if tenths > most:
        raise _refused(f"{typed[:20]} degrees is more than {most // 10}. Measure the angle again.")
    return tenths


def _refused(sentence: str) -> Refused:
    return Refused("heading", sentence)


def _at(typed: TypedWall, column: str, sentence: str) -> Refused:
    return Refused("walls", sentence, field=f"{column}_{typed.row}")
