"""What the invented firm keeps in its stores and trucks, and what it puts product out with."""

from __future__ import annotations

from dataclasses import dataclass

from treatments.rules.calibration import EquipmentKind, Measuring

DEALER = "Demonstration Supply"
STORE = "Main store"
RINSATE = "Rinsate drum"
# of the first, second, third and fourth technician's truck; a check holds for seven days
CHECKED_DAYS_AGO = (9, 2, 3, 5)
MISSING_NOTE = "Bottle used up, a new one is ordered (demonstration)."


@dataclass(frozen=True)
class DemoLot:
    """One delivery to each branch.

    `containers` of `size` and what of it goes aboard each truck, all in `unit`; `expires_in` days
    from today, None when the container names no day.
    """

    product: str
    number: str
    containers: int
    size: str
    unit: str
    aboard: str = ""
    expires_in: int | None = None


@dataclass(frozen=True)
class DemoEquipment:
    """One piece of equipment and one measurement, as the calibration takes it."""

    name: str
    kind: EquipmentKind
    tank_gal: str
    nozzle: str
    pressure_psi: str
    measuring: Measuring
    caught: str
    over: str | None = None


LOTS = (
    DemoLot("Demonstration A SC", "DEMO-A-071", 6, "32", "fl_oz", "14", 700),
    DemoLot("Demonstration B gel", "DEMO-B-204", 20, "30", "g", "90", 420),
    DemoLot("Demonstration C CS", "DEMO-C-118", 2, "32", "fl_oz", "", 38),
    DemoLot("Demonstration D G", "DEMO-D-330", 6, "25", "lb", "25"),
    DemoLot("Demonstration E SC", "DEMO-E-015", 1, "78", "fl_oz", "", 900),
    DemoLot("Demonstration F crevice spray", "DEMO-F-442", 4, "32", "fl_oz", "16", 500),
    DemoLot("Demonstration H dust", "DEMO-H-551", 4, "454", "g", "100", 900),
    DemoLot("Demonstration I aerosol", "DEMO-I-563", 12, "15", "fl_oz", "15", 600),
)
REORDER = (
    ("Demonstration A SC", "96", "fl_oz"),
    ("Demonstration D G", "50", "lb"),
    ("Demonstration F crevice spray", "160", "fl_oz"),
)
EQUIPMENT = (
    DemoEquipment(
        "1-gal hand can",
        EquipmentKind.HAND_CAN,
        "1",
        "Fan, 8002",
        "30",
        Measuring.AREA,
        "0.5",
        "500",
    ),
    DemoEquipment(
        "4-gal backpack",
        EquipmentKind.BACKPACK,
        "4",
        "Fan, 8004",
        "40",
        Measuring.ACRE_128TH,
        "44",
    ),
)
COUNTED_LESS = "0.5"
COUNT_REASON = "Left in the measure and rinsed into the tank (demonstration)."
