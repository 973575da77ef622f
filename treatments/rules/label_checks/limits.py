"""The label's typed limits: band, spot, surface, weather, water, space."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from sites.rules.places import Place, Surface
from sites.rules.units import plain
from treatments.rules.label_checks.facts import (
    Judgement,
    LabelFacts,
    LabelLimit,
    ProposedUse,
    ZoneUse,
)
from treatments.rules.label_checks.handling import said_words
from treatments.rules.label_checks.history import YEARLY
from treatments.rules.label_checks.surfaces import surface_share
from treatments.rules.label_questions import OF_LABEL, SAID
from treatments.rules.limit_comparisons import LIMIT_UNITS
from treatments.rules.products import (
    LIMIT_FACT_WORDS,
    Comparison,
    LimitFact,
    Method,
    Severity,
)

UNIT_SIGNS = {"ft": "ft", "ft2": "sq ft", "ft3": "cu ft", "inch": "in", "degF": "°F"}
ELSEWHERE = frozenset(
    {
        *(LimitFact.TANK_MIX, LimitFact.FILL_TURN, LimitFact.BAIT_DAYS),
        *(LimitFact.ROTATION, LimitFact.LICENSE_CATEGORY),
    }
)
SMALL_METHODS = frozenset({Method.SPOT, Method.CRACK_CREVICE})
NEAR_WATER = Decimal("1.25")  # measured within 25 % of the limit asks again (house rule)

TO_DO = {
    LimitFact.HEIGHT_UP: "Make the band lower, or leave the zone out.",
    LimitFact.WIDTH_OUT: "Make the band narrower, or leave the zone out.",
    LimitFact.ENTRY_BAND: "Make the band narrower, or leave the zone out.",
    LimitFact.SPOT_SIZE: "Make the spot smaller.",
    LimitFact.WIND: "Wait and measure again, or ask the office to move the visit.",
    LimitFact.TEMPERATURE_MIN: "Wait and measure again, or ask the office to move the visit.",
    LimitFact.TEMPERATURE_MAX: "Wait and measure again, or ask the office to move the visit.",
    LimitFact.WATER_DISTANCE: "Leave out the part near the water.",
    LimitFact.SPACE_MAX: "Choose another product or method.",
}


def _measured_water(use: ProposedUse) -> Decimal | None:
    """Feet to water as measured on the ground; a drawn distance is none."""
    where = use.conditions
    return where.water_distance_ft if where.water_measured_on else None


Reading = Callable[[ProposedUse], Decimal | None]
READINGS: dict[LimitFact, Reading] = {
    LimitFact.WIND: lambda use: use.conditions.wind_mph,
    LimitFact.TEMPERATURE_MIN: lambda use: use.conditions.temperature_f,
    LimitFact.TEMPERATURE_MAX: lambda use: use.conditions.temperature_f,
    LimitFact.WATER_DISTANCE: _measured_water,
    LimitFact.SPACE_MAX: lambda use: None if use.space is None else use.space.to("ft3").value,
}

# which zones a row is about, and what is measured there
ZoneReading = tuple[Callable[[ZoneUse, ProposedUse], bool], Callable[[ZoneUse], Decimal | None]]
ZONE_READINGS: dict[LimitFact, ZoneReading] = {
    LimitFact.HEIGHT_UP: (
        lambda zone, use: zone.place != Place.EAVE_SOFFIT and use.method not in SMALL_METHODS,
        lambda zone: zone.height_up_ft,
    ),
    LimitFact.WIDTH_OUT: (
        lambda zone, use: use.method not in SMALL_METHODS,
        lambda zone: zone.width_out_ft,
    ),
    LimitFact.ENTRY_BAND: (
        lambda zone, use: zone.place == Place.ENTRY_POINT,
        lambda zone: 12 * max(zone.height_up_ft, zone.width_out_ft),
    ),
    LimitFact.SPOT_SIZE: (
        lambda zone, use: use.method == Method.SPOT,
        lambda zone: zone.spot_sq_ft,
    ),
}


def limits(facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    """Every limit row of the direction; a row nobody can judge here asks to be read."""
    found: list[Judgement] = []
    for row in facts.limits:
        found.extend(_row(row, facts, use))
    return found


def _row(row: LabelLimit, facts: LabelFacts, use: ProposedUse) -> list[Judgement]:
    clause = row.clause or facts.clause
    if _is_judged_elsewhere(row):
        return []
    if row.fact == LimitFact.IMPERVIOUS_HORIZONTAL:
        return [_impervious(zone, row, clause, use) for zone in _flat(use)]
    if row.fact in SAID:
        return [Judgement(row.fact, Severity.NOTE, said_words(row), clause)]
    if row.fact == LimitFact.SURFACE_SHARE:
        return surface_share(row, clause, use)
    if row.fact == LimitFact.RAIN_PROTECTED_ONLY:
        return [_rain_protected(zone, row, clause) for zone in _eaves(use)]
    if row.limit is not None and row.fact in READINGS:
        return _compared(row, row.limit, READINGS[row.fact](use), clause)
    if row.limit is not None and row.fact in ZONE_READINGS:
        return _zones(row, row.limit, clause, use)
    sentence = f"{LIMIT_FACT_WORDS[row.fact]}: this limit is not judged here."
    return [Judgement(row.fact, Severity.WARN, sentence, clause, "Read it on the label.")]


def _is_judged_elsewhere(row: LabelLimit) -> bool:
    """With the history, with the answers of a person, with the load, with the tank mix."""
    if row.fact in YEARLY:
        return row.limit is not None
    if row.fact == LimitFact.MIXED_HOURS:
        return row.severity == Severity.REFUSE
    if row.fact in SAID and row.severity == Severity.NOTE:
        return False
    return row.fact in OF_LABEL or row.fact in ELSEWHERE


def _zones(row: LabelLimit, limit: Decimal, clause: str, use: ProposedUse) -> list[Judgement]:
    concerns, reading = ZONE_READINGS[row.fact]
    found: list[Judgement] = []
    for zone in use.zones:
        if concerns(zone, use):
            found.extend(_compared(row, limit, reading(zone), clause, zone.name))
    return found


def _compared(
    row: LabelLimit, limit: Decimal, reading: Decimal | None, clause: str, zone: str = ""
) -> list[Judgement]:
    name = f"{zone}: {_words(row)}" if zone else _words(row, capital=True)
    if reading is None:
        sentence = f"{name} is not measured; the label's limit is {_with_unit(limit, row)}."
        return [Judgement(row.fact, Severity.WARN, sentence, clause, "Measure it before mixing.")]
    at_most = row.comparison == Comparison.AT_MOST
    bound = "most" if at_most else "least"
    numbers = f"{name} {_with_unit(reading, row)}, {bound} {plain(limit)}"
    if (reading <= limit) if at_most else (reading >= limit):
        return [Judgement(row.fact, Severity.NOTE, numbers, clause), *_near(row, reading, clause)]
    return [Judgement(row.fact, row.severity, f"{numbers}.", clause, TO_DO[row.fact])]


def _near(row: LabelLimit, reading: Decimal, clause: str) -> list[Judgement]:
    limit = row.limit
    if row.fact != LimitFact.WATER_DISTANCE or limit is None or reading > limit * NEAR_WATER:
        return []
    sentence = f"Water is {plain(reading)} ft away, close to the label's {plain(limit)} ft."
    to_do = "Measure it on the ground, look for slope and drains."
    return [Judgement(row.fact, Severity.WARN, sentence, clause, to_do)]


def _words(row: LabelLimit, *, capital: bool = False) -> str:
    words = LIMIT_FACT_WORDS[row.fact].partition(" (")[0]
    return words if capital else words.lower()


def _with_unit(value: Decimal, row: LabelLimit) -> str:
    unit = LIMIT_UNITS.get(row.fact, "")
    return f"{plain(value)} {UNIT_SIGNS.get(unit, unit)}".strip()


def _flat(use: ProposedUse) -> list[ZoneUse]:
    return [z for z in use.zones if z.surface == Surface.IMPERVIOUS or z.is_over_impervious]


def _impervious(zone: ZoneUse, row: LabelLimit, clause: str, use: ProposedUse) -> Judgement:
    if use.method in SMALL_METHODS:
        sentence = f"{zone.name}: only spots, cracks and crevices on concrete or asphalt"
        return Judgement(row.fact, Severity.NOTE, sentence, clause)
    to_do = "Choose spot or crack and crevice, or leave the zone out."
    if zone.surface == Surface.IMPERVIOUS:
        sentence = f"{zone.name} is concrete or asphalt; the label allows no band there."
        return Judgement(row.fact, row.severity, sentence, clause, to_do)
    sentence = f"{zone.name} is over concrete or asphalt; product must not reach it."
    return Judgement(row.fact, Severity.WARN, sentence, clause, to_do)


def _eaves(use: ProposedUse) -> list[ZoneUse]:
    return [zone for zone in use.zones if zone.place == Place.EAVE_SOFFIT]


def _rain_protected(zone: ZoneUse, row: LabelLimit, clause: str) -> Judgement:
    if zone.is_rain_protected:
        sentence = f"{zone.name} is protected from rain"
        return Judgement(row.fact, Severity.NOTE, sentence, clause)
    sentence = f"{zone.name} is not protected from rain; the label asks for that."
    return Judgement(row.fact, row.severity, sentence, clause, "Leave the zone out.")
