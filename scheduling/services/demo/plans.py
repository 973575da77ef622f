"""A house of the invented firm whose walls were walked: an L with a pond behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduling.models import Visit
from scheduling.services.demo.firm import Firm
from sites.rules.plan_walls import TypedWall, length_words
from sites.selectors.outlines import outline_from
from sites.selectors.properties import zones_of
from sites.services.outlines import add_water, set_outline

if TYPE_CHECKING:
    from sites.models import OutlineWall

DEEP, NOTCH_WIDE, NOTCH_DEEP = 36, 12, 8
POND = {"along": "14", "away": "26", "across": "22", "deep": "14"}


def walk_a_house(*, firm: Firm, stop: Visit) -> tuple[str, ...]:
    """Type the walls of the house of a stop, as long as its foundation band, and a pond."""
    zones = zones_of(stop.property_id)
    run = max(int(zone.wall_run) for zone in zones if zone.geometry == "band")
    walls = set_outline(
        property_id=stop.property_id, unit="ft", rows=_rows(run // 2 - DEEP), by=firm.manager
    )
    add_water(
        property_id=stop.property_id, name="Fish pond", wall="east side", lengths=POND,
        by=firm.manager,
    )  # fmt: skip
    return (f"{len(walls)} walls of {stop.property}, {_length(walls)}.", "A pond beside them.")


def _rows(wide: int) -> list[TypedWall]:
    """Clockwise from the north-west corner; the notch is in the south-east."""
    walls = (
        ("north side", wide, "E"),
        ("east side", DEEP - NOTCH_DEEP, "right 90"),
        ("porch side", NOTCH_WIDE, "right 90"),
        ("porch front", NOTCH_DEEP, "left 90"),
        ("south side", wide - NOTCH_WIDE, "right 90"),
        ("west side", DEEP, "right 90"),
    )
    return [TypedWall(row, name, str(ft), to) for row, (name, ft, to) in enumerate(walls)]


def _length(walls: list[OutlineWall]) -> str:
    walk = outline_from(walls)
    closes = "closing" if walk.closes else "not closing"
    return f"{length_words(walk.perimeter_mm, 'ft')} around, {closes}"
