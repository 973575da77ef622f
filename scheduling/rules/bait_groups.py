"""Bait that was added to devices, put together for one record: count times amount, exact."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from sites.rules.devices.entries import AddedBait, amount_added, sum_of
from sites.rules.units import unit_word

LONGEST_LIST = 60


@dataclass(frozen=True)
class BaitLine:
    """The bait that one check added; `ref` names the label, `each` is text in `unit`."""

    check_id: int
    device: int
    zone_id: int | None
    ref: str
    product: str
    lot: str
    pieces: int
    each: str
    unit: str


@dataclass(frozen=True)
class BaitGroup:
    """One label, lot and unit: what one record is made of."""

    lines: tuple[BaitLine, ...]

    @property
    def first(self) -> BaitLine:
        return self.lines[0]

    @property
    def key(self) -> str:
        """The checks of the group, as a form sends them."""
        return "-".join(str(line.check_id) for line in self.lines)

    @property
    def pieces(self) -> int:
        return sum(line.pieces for line in self.lines)

    @property
    def amount(self) -> str:
        """The sum as decimal text in the unit as typed."""
        return sum_of([amount_added(_added(line)) for line in self.lines], self.first.unit)

    @property
    def zone_ids(self) -> tuple[int, ...]:
        """The zones of the devices, each once; a device without one names none."""
        return tuple(dict.fromkeys(one.zone_id for one in self.lines if one.zone_id is not None))

    @property
    def words(self) -> str:
        """6 pieces, 120 g of Demonstration R, lot L-3."""
        lot = f", lot {self.first.lot}" if self.first.lot else ""
        count = f"{self.pieces} piece{'' if self.pieces == 1 else 's'}"
        return f"{count}, {self.amount} {unit_word(self.first.unit)} of {self.first.product}{lot}"

    @property
    def arithmetic(self) -> str:
        """4 × 20 g + 2 × 20 g, in devices 1 and 4."""
        by_weight: dict[str, int] = defaultdict(int)
        for line in self.lines:
            by_weight[str(Decimal(line.each))] += line.pieces
        unit = unit_word(self.first.unit)
        return " + ".join(f"{pieces} × {each} {unit}" for each, pieces in by_weight.items())

    @property
    def devices(self) -> str:
        """1, 4 and 9; a long list is cut and says so."""
        numbers = [str(line.device) for line in self.lines]
        more = len(numbers) - LONGEST_LIST
        return ", ".join(numbers[:LONGEST_LIST]) + (f" and {more} more" if more > 0 else "")

    def note(self, lot: str) -> str:
        """What the record says of it; `lot` is what it was taken from, empty where unknown."""
        named = f"Lot {lot}: " if lot else ""
        return f"{named}{self.arithmetic}, {self.pieces} pieces in devices {self.devices}."


def _added(line: BaitLine) -> AddedBait:
    return AddedBait(line.pieces, line.each, line.unit, line.ref, line.product, line.lot)


def bait_groups(lines: Sequence[BaitLine]) -> tuple[BaitGroup, ...]:
    """Lines by label, lot and unit, in the order they first stand in."""
    found: dict[tuple[str, str, str], list[BaitLine]] = defaultdict(list)
    for line in lines:
        found[line.ref, line.lot, line.unit].append(line)
    return tuple(BaitGroup(tuple(group)) for group in found.values())
