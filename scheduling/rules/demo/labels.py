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
    """One ceiling of a label."""

    fact: LimitFact
    comparison: Comparison
    limit: str
    severity: Severity
    sentence: str
    page: str


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
