"""From lengths as typed to a measured zone, with a sentence for every number that cannot be."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.entries import NewZone
from sites.rules.measurements import ZoneMeasure
from sites.rules.places import Corners, Geometry
from sites.rules.units import canonical, parse_amount, plain

# Far above any building and far below what the columns hold: a slip of the keyboard ends here.
LONGEST_RUN = Decimal(100_000)
LONGEST_SIDE = Decimal(1_000)
FIELDS = ("wall_run", "height_up", "width_out")


@dataclass(frozen=True)
class ZoneSize:
    """A zone's geometry, its lengths as decimal text and as whole canonical units."""

    geometry: Geometry
    wall_run: str
    height_up: str
    width_out: str
    wall_run_mm: int
    height_up_mm: int
    width_out_mm: int
    area_mm2: int


def zone_size(zone: NewZone) -> ZoneSize:
    """Measure a zone from what was typed.

    Refused, naming the field: letters for numbers, a length below zero or beyond any building, a
    run of nothing, a band without height and width, a space without all three.
    """
    run, up, out = (_length(zone, field) for field in FIELDS)
    geometry = _geometry(zone, up, out)
    _refuse_gaps(geometry, run, up, out)
    if geometry in (Geometry.LINEAR, Geometry.COUNT):
        up = out = Decimal(0)
    corners = Corners(zone.corners) if geometry == Geometry.BAND else Corners.SIMPLE
    measure = ZoneMeasure(geometry, run, up, out, corners, zone.length_unit)
    is_count = geometry == Geometry.COUNT
    return ZoneSize(
        geometry=geometry,
        wall_run=plain(run),
        height_up=plain(up),
        width_out=plain(out),
        # places are counted, not measured: they must not be added to lengths
        wall_run_mm=0 if is_count else canonical(run, zone.length_unit),
        height_up_mm=canonical(up, zone.length_unit),
        width_out_mm=canonical(out, zone.length_unit),
        area_mm2=canonical(measure.area.value, measure.area.unit),
    )


def _length(zone: NewZone, field: str) -> Decimal:
    typed = getattr(zone, field).strip()
    if not typed and field != "wall_run":
        return Decimal(0)
    is_count = zone.geometry == Geometry.COUNT and field == "wall_run"
    unit = "each" if is_count else zone.length_unit
    most = LONGEST_RUN if field == "wall_run" else LONGEST_SIDE
    try:
        return parse_amount(typed, unit, at_most=most).value
    except Refused as refused:
        raise Refused(refused.code, refused.sentence, field=field) from refused


def _geometry(zone: NewZone, up: Decimal, out: Decimal) -> Geometry:
    if not zone.geometry:
        return Geometry.BAND if up > 0 or out > 0 else Geometry.LINEAR
    try:
        return Geometry(zone.geometry)
    except ValueError as failure:
        raise Refused(
            "geometry", "Choose how the zone is measured from the list.", field="geometry"
        ) from failure


def _refuse_gaps(geometry: Geometry, run: Decimal, up: Decimal, out: Decimal) -> None:
    if run == 0:
        raise _gap("wall_run", "The zone has no size. Type a number above zero.")
    if geometry == Geometry.COUNT and run != run.to_integral_value():
        raise _gap("wall_run", "Places are counted whole. Type a number like 12.")
    if geometry in (Geometry.BAND, Geometry.SURFACE) and up == 0 and out == 0:
        raise _gap("width_out", "A band or surface needs a height up, a width out, or both.")
    if geometry == Geometry.VOLUME and 0 in (up, out):
        raise _gap("height_up", "A space needs its length, height and width.")


def _gap(field: str, sentence: str) -> Refused:
    return Refused("measure", sentence, field=field)
