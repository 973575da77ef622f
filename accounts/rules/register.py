"""What runs out, how near it is, and what to do about it.

Warnings 90, 60, 30 and 7 days ahead: design/9-trade.md 17, a house rule. A paper holds through its
last day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import IntEnum, StrEnum

from accounts.rules.day_words import short_day

RUNS_OUT = "runs_out"  # the code of its open items


class Band(IntEnum):
    """How near the last day is; a higher one is nearer."""

    LATER = 0
    DAYS_90 = 1
    DAYS_60 = 2
    DAYS_30 = 3
    DAYS_7 = 4
    OVER = 5


DAYS = {Band.DAYS_90: 90, Band.DAYS_60: 60, Band.DAYS_30: 30, Band.DAYS_7: 7}


class PaperKind(StrEnum):
    """What is kept in the register."""

    LICENSE = "license"
    TRAINING = "training"
    EDUCATION = "education"
    RESPIRATOR = "respirator"
    BUSINESS_LICENSE = "business_license"
    INSURANCE = "insurance"
    VEHICLE_CHECK = "vehicle_check"


K = PaperKind
PAPER_WORDS = {
    K.LICENSE: "License",
    K.TRAINING: "Training",
    K.EDUCATION: "Continuing education",
    K.RESPIRATOR: "Respirator papers",
    K.BUSINESS_LICENSE: "Business license",
    K.INSURANCE: "Insurance",
    K.VEHICLE_CHECK: "Vehicle check",
}
# before its last day, and once it is over
TO_DO = {
    K.LICENSE: (
        "Enter the renewed license as a new term.",
        "No visit can be booked under it: enter the renewed license, or move the visits.",
    ),
    K.TRAINING: (
        "Train again and enter the record.",
        "No restricted-use work under supervision until training is entered.",
    ),
    K.EDUCATION: (
        "Book the courses and enter their credits.",
        "Ask the state agency what the license needs now.",
    ),
    K.RESPIRATOR: (
        "Arrange the test or the new cartridge and enter the papers.",
        "No work that wants this respirator until new papers are entered.",
    ),
    K.BUSINESS_LICENSE: (
        "Renew it and enter the new paper.",
        "Ask the state agency before working on: enter the renewed license.",
    ),
    K.INSURANCE: (
        "Renew it and enter the new paper.",
        "Ask the insurer today: enter the renewed policy.",
    ),
    K.VEHICLE_CHECK: ("Check the vehicle.", "Check the vehicle before it leaves."),
}


def band(until: date, today: date) -> Band:
    """In which band a day stands for a paper that holds through `until`."""
    left = (until - today).days
    if left < 0:
        return Band.OVER
    return max((one for one, days in DAYS.items() if left <= days), default=Band.LATER)


def begins_on(one: Band, until: date) -> date:
    """The first day of a band; refused for LATER, which has none."""
    if one == Band.OVER:
        return until + timedelta(days=1)
    return until - timedelta(days=DAYS[one])


@dataclass(frozen=True)
class RegisterLine:
    """One thing that runs out.

    `thing` names its row by table and key; `what` is the paper in words; `until` its last day;
    `short` what is missing besides time; `detail` what else is on it; `url` shows its holder,
    `act_url` is where it is renewed; `first_band` from when on it warns.
    """

    kind: PaperKind
    thing: str
    branch_id: int
    branch: str
    holder: str
    what: str
    until: date
    person_id: int | None = None
    short: str = ""
    detail: str = ""
    url: str = ""
    act_url: str = ""
    first_band: Band = Band.DAYS_90

    def band(self, today: date) -> Band:
        """How near its last day is; LATER while it does not warn."""
        found = band(self.until, today)
        return found if found >= self.first_band else Band.LATER

    def to_do(self, today: date) -> str:
        """What to do about it on a day."""
        before, over = TO_DO[self.kind]
        return over if self.until < today else before

    def sentence(self, today: date) -> str:
        """Whose what runs out when, and what to do; it changes with the band alone."""
        parts = [f"{self.holder}: {self.what}", self.short]
        said = ", ".join(part for part in parts if part)
        return f"{said}, {_when(self, today)}. {self.to_do(today)}"


def _when(line: RegisterLine, today: date) -> str:
    day = short_day(line.until, True)
    found = line.band(today)
    if line.kind == K.VEHICLE_CHECK:
        return f"due by {day}"
    if found == Band.OVER:
        return f"ran out after {day}"
    if found == Band.LATER:
        return f"holds through {day}"
    near = "this week" if found == Band.DAYS_7 else f"within {DAYS[found]} days"
    return f"runs out {near}, after {day}"


def left_words(until: date, today: date) -> str:
    """The days left: 12 d left, last day today, 3 d over."""
    left = (until - today).days
    if left == 0:
        return "last day today"
    return f"{left} d left" if left > 0 else f"{-left} d over"


def soonest(lines: Iterable[RegisterLine]) -> list[RegisterLine]:
    """Lines by their last day, then by holder and paper."""
    return sorted(lines, key=lambda one: (one.until, one.holder, one.what, one.thing))
