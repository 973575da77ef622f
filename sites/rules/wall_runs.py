"""The named runs of a wall, one a line as typed: "north wall 40"."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from accounts.refusals import Refused
from sites.rules.places import Geometry
from sites.rules.units import canonical, parse_amount, plain

LONGEST_NAME = 60
MOST_RUNS = 20
ALONG = (Geometry.BAND, Geometry.LINEAR)


@dataclass(frozen=True)
class NewRun:
    """One run of a zone: its name, its length as decimal text, and in whole mm."""

    name: str
    length: str
    length_mm: int


def wall_runs(
    text: str, *, unit: str, geometry: str, run: Decimal, most: Decimal
) -> tuple[NewRun, ...]:
    """Read the runs of a zone; none where nothing is typed.

    `run` is the zone's whole run in `unit`, ft or m; `most` the longest one taken. Refused: a line
    without name or length, a name twice, a zone that is no band or length, a sum that is not the
    zone's run (house rule: only then is the area of the runs done the area treated).
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if not lines:
        return ()
    if geometry not in ALONG:
        raise _refused("Only a band or a length has wall runs. Leave them empty.")
    found = tuple(_run(line, unit, most) for line in lines)
    _refuse_repeated([one.name.casefold() for one in found])
    total = sum((Decimal(one.length) for one in found), Decimal(0))
    if total != run:
        raise _refused(
            f"The runs add up to {plain(total)} {unit} and the zone's run is {plain(run)} {unit}. "
            "Correct one of them."
        )
    return found


def _run(line: str, unit: str, most: Decimal) -> NewRun:
    words = line.removesuffix(unit).split()
    if len(words) < 2:
        raise _refused(f"{line[:40]!r} is no run. Write name and length: north wall 40.")
    name, typed = " ".join(words[:-1]).rstrip(","), words[-1]
    try:
        length = parse_amount(typed, unit, at_most=most).value
    except Refused as refused:
        raise _refused(f"{line[:40]}: {refused.sentence}") from refused
    if not length:
        raise _refused(f"{name[:40]} has no length. Measure it.")
    if len(name) > LONGEST_NAME:
        raise _refused(f"A run's name has {LONGEST_NAME} letters at most: {name[:40]}…")
    return NewRun(name, plain(length), canonical(length, unit))


def _refuse_repeated(names: list[str]) -> None:
    if len(names) > MOST_RUNS:
        raise _refused(f"A zone has at most {MOST_RUNS} runs. Make two zones of it.")
    if len(set(names)) < len(names):
        raise _refused("Two runs have the same name. Tell them apart.")


def _refused(sentence: str) -> Refused:
    return Refused("wall_runs", sentence, field="runs")
