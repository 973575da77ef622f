"""The register of the invented firm: some papers near their end, one renewed, one over."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from accounts.rules.register_entries import FirmPaperKind
from scheduling.rules.demo.people import OHIO, PENNSYLVANIA

CATEGORY = "Structural pest (demonstration)"
TRAINER = "Owen Hadleigh"
QUALIFICATION = "Certified applicator, OH C-1001 (demonstration)"
COURSE = "Restricted use under supervision (demonstration)"
TOPICS = (
    "Reading a label; hazards and routes of exposure; protective equipment; transport and spills; "
    "heat illness; what to do first in an emergency. Material: demonstration course book."
)
PROVIDER = "Demonstration extension office"


@dataclass(frozen=True)
class DemoTraining:
    """A training so many days before today."""

    email: str
    days_ago: int


@dataclass(frozen=True)
class DemoCycle:
    """A cycle that ends so many days from today, with the credits of each course in it."""

    email: str
    state: str
    ends_in: int
    needed: Decimal
    earned: tuple[Decimal, ...]


@dataclass(frozen=True)
class DemoFirmPaper:
    """A paper of a branch that ends so many days from today."""

    branch: str
    kind: FirmPaperKind
    number: str
    ends_in: int
    dollars: int | None = None


TRAINED_BEFORE = DemoTraining("technician2@demo.example", 345)
NEWLY_TRAINED = DemoTraining("trainee@demo.example", 20)
CYCLES = (
    DemoCycle("technician@demo.example", "OH", 85, Decimal(5), (Decimal(2), Decimal("1.5"))),
    DemoCycle("technician3@demo.example", "PA", 400, Decimal(8), (Decimal(8),)),
    DemoCycle("technician4@demo.example", "PA", 9, Decimal(8), (Decimal(4),)),
)
F = FirmPaperKind
FIRM_PAPERS = (
    DemoFirmPaper(OHIO, F.BUSINESS_LICENSE, "OH-DEMO-5001", 210),
    DemoFirmPaper(OHIO, F.LIABILITY, "DEMO-L-100", 5, 1_000_000),
    DemoFirmPaper(PENNSYLVANIA, F.BUSINESS_LICENSE, "PA-DEMO-7001", 58),
    DemoFirmPaper(PENNSYLVANIA, F.LIABILITY, "DEMO-L-101", 190, 1_000_000),
    DemoFirmPaper(PENNSYLVANIA, F.VEHICLES, "DEMO-V-9", -2, 500_000),
)
