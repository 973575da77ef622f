"""What an invented label is made of, and the rows that several of them share."""

from __future__ import annotations

from dataclasses import dataclass

from sites.rules.places import PestGroup, Place
from treatments.rules.products import (
    Comparison,
    Formulation,
    LimitFact,
    Method,
    RateBasis,
    RegistrationKind,
    Severity,
    SignalWord,
    Task,
)


@dataclass(frozen=True)
class DemoPest:
    """A pest by its names and group."""

    common_name: str
    scientific_name: str
    group: PestGroup


@dataclass(frozen=True)
class DemoDirection:
    """One direction for use, by pest names."""

    title: str
    places: tuple[Place, ...]
    methods: tuple[Method, ...]
    pests: tuple[str, ...]
    rate_max: str
    rate_unit: str
    page: str
    basis: RateBasis = RateBasis.AREA
    rate_min: str | None = None
    per_gallon: str | None = None
    gallons_per_1000: str | None = None
    residual_days: int | None = None
    min_interval_days: int = 0
    uses_per_year: int | None = None


@dataclass(frozen=True)
class DemoLimit:
    """One ceiling of a label; `direction` is a title where it is of one direction only."""

    fact: LimitFact
    comparison: Comparison
    limit: str
    severity: Severity
    sentence: str
    page: str
    named: str = ""
    direction: str = ""


@dataclass(frozen=True)
class DemoProduct:
    """A product with its one label."""

    name: str
    number: str
    kind: RegistrationKind
    formulation: Formulation
    ingredient: str
    percent: str
    pounds_per_gallon: str | None
    irac_group: str
    directions: tuple[DemoDirection, ...]
    limits: tuple[DemoLimit, ...] = ()
    signal_word: SignalWord = SignalWord.CAUTION
    is_restricted_use: bool = False
    only_listed_uses: bool = False
    protections: tuple[tuple[Task, str, str], ...] = ()


PYRETHROID_LIMITS = (
    DemoLimit(
        LimitFact.HEIGHT_UP,
        Comparison.AT_MOST,
        "3",
        Severity.REFUSE,
        "Treat the side of a building up to 3 ft above grade.",
        "p. 4, item 3",
    ),
    DemoLimit(
        LimitFact.WIDTH_OUT,
        Comparison.AT_MOST,
        "10",
        Severity.REFUSE,
        "Treat a soil band up to 10 ft from the foundation.",
        "p. 7",
    ),
    DemoLimit(
        LimitFact.IMPERVIOUS_HORIZONTAL,
        Comparison.FORBIDDEN,
        "0",
        Severity.REFUSE,
        "Do not apply a band to concrete or asphalt; only spots, cracks and crevices.",
        "p. 4, item 1",
    ),
)

WITHIN_A_DAY = DemoLimit(
    LimitFact.MIXED_HOURS,
    Comparison.AT_MOST,
    "24",
    Severity.REFUSE,
    "Use what is mixed within 24 hours.",
    "p. 6",
)

ALONE = DemoLimit(
    LimitFact.TANK_MIX,
    Comparison.FORBIDDEN,
    "0",
    Severity.REFUSE,
    "Do not mix with other products in one tank.",
    "p. 5",
)
OUTSIDE_TITLE = "Soil and turf around structures"
INSIDE_TITLE = "Vacant rooms, cracks and walls"
# one row of most kinds that a label can have
OF_THE_WORK = (
    DemoLimit(
        LimitFact.HIGH_RATE_ONLY,
        Comparison.REQUIRED,
        "0",
        Severity.REFUSE,
        "Use the high rate only for heavy infestations on porous surfaces.",
        "p. 7",
        direction=OUTSIDE_TITLE,
    ),
    DemoLimit(
        LimitFact.AGITATION,
        Comparison.REQUIRED,
        "0",
        Severity.NOTE,
        "Agitate after filling and again when the spray has stood.",
        "p. 5",
    ),
    DemoLimit(
        LimitFact.WATER_PH,
        Comparison.AT_MOST,
        "7.5",
        Severity.WARN,
        "Mix with water of pH 7.5 or lower.",
        "p. 5",
    ),
    DemoLimit(
        LimitFact.TANK_MIX,
        Comparison.FORBIDDEN,
        "0",
        Severity.REFUSE,
        "Do not mix with products that contain bifenthrin.",
        "p. 5",
        named="bifenthrin",
    ),
    DemoLimit(
        LimitFact.RUN_OFF,
        Comparison.FORBIDDEN,
        "0",
        Severity.REFUSE,
        "Do not spray to the point of run-off.",
        "p. 6",
    ),
    DemoLimit(
        LimitFact.WATERED_IN_DEPTH,
        Comparison.AT_LEAST,
        "0.25",
        Severity.WARN,
        "Water soil and turf in with a quarter inch of water.",
        "p. 7",
        direction=OUTSIDE_TITLE,
    ),
    DemoLimit(
        LimitFact.WATERED_IN_HOURS,
        Comparison.AT_MOST,
        "24",
        Severity.WARN,
        "Water in within 24 hours of the treatment.",
        "p. 7",
        direction=OUTSIDE_TITLE,
    ),
    DemoLimit(
        LimitFact.SURFACE_SHARE,
        Comparison.AT_MOST,
        "20",
        Severity.WARN,
        "Treat no more than 20 percent of a surface.",
        "p. 8",
        direction=INSIDE_TITLE,
    ),
    DemoLimit(
        LimitFact.VACANT_ONLY,
        Comparison.REQUIRED,
        "0",
        Severity.REFUSE,
        "Inside, only in places that stand empty.",
        "p. 8",
        direction=INSIDE_TITLE,
    ),
    DemoLimit(
        LimitFact.SCHOOL_HOURS,
        Comparison.REQUIRED,
        "0",
        Severity.REFUSE,
        "At schools and day care only outside their hours.",
        "p. 8",
    ),
    DemoLimit(
        LimitFact.ROTATION,
        Comparison.REQUIRED,
        "0",
        Severity.NOTE,
        "Rotate with products of another group.",
        "p. 3",
    ),
)
# the version of the scheme in which a group was read; the others are from memory
IRAC_SCHEMES = {"3A": "11.3", "2B": "11.3"}
PROTECTIONS = (
    (Task.MIX_AND_LOAD, "Chemical-resistant gloves and eye protection", "p. 2"),
    (Task.APPLY, "Long sleeves and long pants, shoes and socks", "p. 2"),
    (Task.OVERHEAD, "Eye protection and a hat with a brim", "p. 2"),
    (Task.CLEAN_UP, "Chemical-resistant gloves", "p. 2"),
)
DUST_PROTECTIONS = (
    (Task.DUST, "Half-face respirator with N95 or P100 particulate filters", "p. 2"),
    (Task.DUST, "Eye protection", "p. 2"),
)
SPACE_PROTECTIONS = ((Task.CONFINED, "Half-face respirator with organic vapor cartridges", "p. 2"),)
