"""The words for numbered devices and for what is found at them: a list of our own."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class DeviceKind(StrEnum):
    """What stands at the numbered place."""

    BAIT_STATION = "bait_station"
    FEED_MONITOR = "feed_monitor"
    TRAP = "trap"
    MULTI_TRAP = "multi_trap"
    GLUE_MONITOR = "glue_monitor"
    LIGHT_TRAP = "light_trap"
    PHEROMONE = "pheromone"


class Outcome(StrEnum):
    """What a check came to."""

    NO_ACTIVITY = "no_activity"
    ACTIVITY = "activity"
    MISSING = "missing"
    NO_ACCESS = "no_access"
    SKIPPED = "skipped"


class Removal(StrEnum):
    """Why a device was taken away."""

    NOT_NEEDED = "not_needed"
    MOVED = "moved"
    LOST = "lost"
    BROKEN = "broken"
    CUSTOMER = "customer"
    ENDED = "ended"


KIND_WORDS: Mapping[StrEnum, str] = {
    DeviceKind.BAIT_STATION: "Bait station",
    DeviceKind.FEED_MONITOR: "Feeding monitor (no poison)",
    DeviceKind.TRAP: "Mechanical trap",
    DeviceKind.MULTI_TRAP: "Multi-catch trap",
    DeviceKind.GLUE_MONITOR: "Glue monitor",
    DeviceKind.LIGHT_TRAP: "Insect light trap",
    DeviceKind.PHEROMONE: "Pheromone monitor",
}
OUTCOME_WORDS: Mapping[StrEnum, str] = {
    Outcome.NO_ACTIVITY: "No activity",
    Outcome.ACTIVITY: "Activity",
    Outcome.MISSING: "Missing",
    Outcome.NO_ACCESS: "No access",
    Outcome.SKIPPED: "Not checked",
}
REMOVAL_WORDS: Mapping[StrEnum, str] = {
    Removal.NOT_NEEDED: "No longer needed",
    Removal.MOVED: "Another device took its place",
    Removal.LOST: "Lost",
    Removal.BROKEN: "Broken",
    Removal.CUSTOMER: "The customer asked for it",
    Removal.ENDED: "The service ended",
}
FED_ON = frozenset({DeviceKind.BAIT_STATION, DeviceKind.FEED_MONITOR})
BAITED = frozenset({DeviceKind.BAIT_STATION})  # what takes a pesticide
LOOKED_AT = frozenset({Outcome.NO_ACTIVITY, Outcome.ACTIVITY})
ALL_EATEN = 4  # quarters
EATEN_WORDS: Mapping[int, str] = {0: "None", 1: "1/4", 2: "1/2", 3: "3/4", ALL_EATEN: "All"}


def eaten_words(quarters: int) -> str:
    """Bait eaten, as it is said: a quarter, half, three quarters, all of it, none."""
    return EATEN_WORDS[quarters].lower()
