"""A zone without wall runs of which only a part was treated, and what that means for the rest.

House rule: the rest stays due, and with it the zone, until all of it is treated or the technician
says that the rest needs nothing. Nobody can tell later which part it was, so two parts never add
up to a whole; a zone whose parts are treated on different days gets wall runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from accounts.refusals import Refused
from sites.rules.measurements import ZoneMeasure
from sites.rules.units import Amount, canonical, plain
from treatments.rules.applications import SIZE_KINDS, Entered, TreatedSize, treated_size
from treatments.rules.wall_runs import LeftOut, RunTold

PART, REST = "treated part", "the rest"
SHOWN = Decimal("0.01")


def part_and_rest(
    measure: ZoneMeasure, entered: Entered | None, reason: str, zone: str
) -> tuple[RunTold, RunTold]:
    """The part that was treated and the rest with its reason, as two runs of the zone.

    `entered` is the part as typed. Refused: no size, one that is all of the zone or more, a zone
    that is not measured, a reason that is none.
    """
    if entered is None:
        raise Refused("part", f"Write how much of {zone} was treated, or take the reason away.")
    if reason not in list(LeftOut):
        raise Refused("part", f"{zone}: choose why the rest was not treated.")
    return _told(treated_size(measure, entered), measure, reason, zone)


def _told(
    size: TreatedSize, measure: ZoneMeasure, reason: str, zone: str
) -> tuple[RunTold, RunTold]:
    part = Amount(Decimal(size.size), size.unit)
    whole = whole_like(measure, part)
    if not whole.value:
        raise Refused("part", f"{zone} is not measured. Ask the office to measure it.")
    rest = Amount(whole.to(part.unit).value - part.value, part.unit)
    if rest.value <= 0:
        raise Refused(
            "part", f"{part} is all of {zone} ({whole}) or more. Leave the part empty for all."
        )
    return _run(PART, part), _run(REST, rest, reason)


def refuse_beyond(measure: ZoneMeasure, size: TreatedSize, zone: str) -> None:
    """Refuse to plan more of a zone than there is."""
    part = Amount(Decimal(size.size), size.unit)
    whole = whole_like(measure, part)
    if part.value > whole.to(part.unit).value:
        raise Refused("part", f"{part} is more than {zone} has ({whole}). Plan a part of it.")


def part_of(measure: ZoneMeasure) -> Amount:
    """All of a zone in the unit that a part of it is typed in: a band by its run."""
    is_run = SIZE_KINDS[measure.geometry][0] == "length"
    return Amount(measure.wall_run, measure.unit) if is_run else measure.size


def whole_like(measure: ZoneMeasure, part: Amount) -> Amount:
    """All of a zone in the kind of unit that a part of it was typed in."""
    if part.kind == "length":
        return Amount(measure.wall_run, measure.unit)
    return measure.area if part.kind == "area" else measure.size


def _run(name: str, size: Amount, reason: str = "") -> RunTold:
    shown = plain(size.value.quantize(SHOWN, ROUND_HALF_UP)) if reason else plain(size.value)
    length = canonical(size.value, size.unit) if size.kind == "length" else 0
    return RunTold(name, shown, size.unit, length, reason)


def is_part(runs: Sequence[RunTold]) -> bool:
    """Whether these are the part and the rest of a zone, and no walls."""
    return [one.name for one in runs] == [PART, REST]


def resized(
    runs: Sequence[RunTold], measure: ZoneMeasure, size: TreatedSize, zone: str
) -> tuple[RunTold, ...]:
    """The runs of a zone whose treated size is corrected: only a part grows and shrinks with it.

    As large as the zone or larger it is no part any more.
    """
    part = Amount(Decimal(size.size), size.unit)
    if not is_part(runs):
        return tuple(runs)
    if part.value >= whole_like(measure, part).to(part.unit).value:
        return ()
    return _told(size, measure, runs[1].reason, zone)
