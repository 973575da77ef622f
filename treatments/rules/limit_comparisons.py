"""How each typed limit of a label may be compared, in which unit, and what else it names."""

from __future__ import annotations

from collections.abc import Mapping

from treatments.rules.products import Comparison, LimitFact

LIMIT_UNITS: Mapping[LimitFact, str] = {
    LimitFact.HEIGHT_UP: "ft",
    LimitFact.WIDTH_OUT: "ft",
    LimitFact.SPOT_SIZE: "ft2",
    LimitFact.ENTRY_BAND: "inch",
    LimitFact.WIND: "mph",
    LimitFact.TEMPERATURE_MIN: "degF",
    LimitFact.TEMPERATURE_MAX: "degF",
    LimitFact.RAIN_HOURS: "h",
    LimitFact.WATER_DISTANCE: "ft",
    LimitFact.INGREDIENT_PER_ACRE_YEAR: "lb",
    LimitFact.SPACE_MAX: "ft3",
    LimitFact.HIVE_DISTANCE: "ft",
    LimitFact.PLACEMENT_WEIGHT: "oz_wt",
    LimitFact.PLACEMENT_SPACING: "ft",
    LimitFact.BAITING_DAYS: "d",
    LimitFact.CHECK_DAYS: "d",
    LimitFact.MIXED_HOURS: "h",
    LimitFact.BAIT_DAYS: "d",
    LimitFact.WATERED_IN_DEPTH: "inch",
    LimitFact.WATERED_IN_HOURS: "h",
    LimitFact.SURFACE_SHARE: "%",
}
_AT_LEAST = (
    LimitFact.TEMPERATURE_MIN,
    LimitFact.RAIN_HOURS,
    LimitFact.WATER_DISTANCE,
    LimitFact.HIVE_DISTANCE,
    LimitFact.BAIT_DAYS,
)
_FORBIDDEN = (
    LimitFact.IMPERVIOUS_HORIZONTAL,
    LimitFact.TANK_MIX,
    LimitFact.IN_BLOOM,
    LimitFact.BEES_FORAGING,
    LimitFact.SCHOOL,
)
_REQUIRED = (
    LimitFact.RAIN_PROTECTED_ONLY,
    LimitFact.TAMPER_RESISTANT,
    LimitFact.ANCHORED,
    LimitFact.MARKED,
    LimitFact.CARCASSES,
    LimitFact.REENTRY_UNDERSTOOD,
    LimitFact.FOOD_AREA_CLOSED,
    LimitFact.HIGH_RATE_ONLY,
    LimitFact.AGITATION,
    LimitFact.VACANT_ONLY,
    LimitFact.SCHOOL_HOURS,
    LimitFact.ROTATION,
    LimitFact.LICENSE_CATEGORY,
)
_EITHER_BOUND = (
    LimitFact.PLACEMENT_WEIGHT,
    LimitFact.PLACEMENT_SPACING,
    LimitFact.WATER_PH,
    LimitFact.WATERED_IN_DEPTH,
    LimitFact.WATERED_IN_HOURS,
)
_TOLD_OR_FORBIDDEN = (LimitFact.RUN_OFF, LimitFact.WATERED_IN)
# the comparisons that mean something for a fact: any other would be read as another limit
COMPARISONS: Mapping[LimitFact, tuple[Comparison, ...]] = {
    **dict.fromkeys(LimitFact, (Comparison.AT_MOST,)),
    **dict.fromkeys(_AT_LEAST, (Comparison.AT_LEAST,)),
    **dict.fromkeys(_FORBIDDEN, (Comparison.FORBIDDEN,)),
    **dict.fromkeys(_REQUIRED, (Comparison.REQUIRED,)),
    **dict.fromkeys(_EITHER_BOUND, (Comparison.AT_MOST, Comparison.AT_LEAST)),
    **dict.fromkeys(_TOLD_OR_FORBIDDEN, (Comparison.REQUIRED, Comparison.FORBIDDEN)),
}
# facts that say whom or what they are about in a name of their own, and whether they need it
NAMED: Mapping[LimitFact, bool] = {LimitFact.TANK_MIX: False, LimitFact.LICENSE_CATEGORY: True}
