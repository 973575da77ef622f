"""The words for products, their directions and what a judgement can be."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class RegistrationKind(StrEnum):
    """How a product is registered, or why it is not (FIFRA's kinds; the list is ours)."""

    SECTION3 = "section3"
    DISTRIBUTOR = "distributor"
    STATE_ONLY = "state_only"
    SLN_24C = "sln_24c"
    SECTION18 = "section18"
    EUP = "eup"
    EXEMPT_25B = "exempt_25b"
    DEVICE = "device"
    NOT_A_PESTICIDE = "not_a_pesticide"


class SignalWord(StrEnum):
    """The one signal word of a label (40 CFR 156.64)."""

    DANGER_POISON = "danger_poison"
    DANGER = "danger"
    WARNING = "warning"
    CAUTION = "caution"
    NONE = "none"


class Formulation(StrEnum):
    """What the product is made as."""

    SC = "sc"
    EC = "ec"
    CS = "cs"
    ME = "me"
    SL = "sl"
    WP = "wp"
    WG = "wg"
    WSB = "wsb"
    GRANULE = "granule"
    DUST = "dust"
    GEL = "gel"
    BAIT = "bait"
    FOAM = "foam"
    AEROSOL = "aerosol"
    READY_TO_USE = "ready_to_use"


# A liquid is measured by volume and a dry product by weight; the others are counted as printed.
# Common practice, no source.
LIQUID = frozenset({Formulation.SC, Formulation.EC, Formulation.CS, Formulation.ME, Formulation.SL})
DRY = frozenset(
    {
        Formulation.WP,
        Formulation.WG,
        Formulation.WSB,
        Formulation.GRANULE,
        Formulation.DUST,
    }
)


class Method(StrEnum):
    """How a product is put where it goes."""

    PERIMETER_BAND = "perimeter_band"
    BROADCAST = "broadcast"
    SPOT = "spot"
    CRACK_CREVICE = "crack_crevice"
    VOID = "void"
    SOIL = "soil"
    GRANULE = "granule"
    BAIT = "bait"
    DUST = "dust"
    FOAM = "foam"
    SPACE = "space"
    PAINT_ON = "paint_on"
    DEVICE = "device"
    NO_PRODUCT = "no_product"


# what a label can name; work without a product follows no label
LABEL_METHODS = tuple(one for one in Method if one != Method.NO_PRODUCT)


class RateBasis(StrEnum):
    """What a label rate is counted on."""

    AREA = "area"
    FINISHED_VOLUME = "finished_volume"
    DILUENT_VOLUME = "diluent_volume"
    LINEAR = "linear"
    COUNT = "count"
    SPACE_VOLUME = "space_volume"
    PERCENT = "percent"


class MixBasis(StrEnum):
    """1 fl oz made up to a gallon, or added to a gallon (1 in 128, or 1 in 129)."""

    PER_FINISHED = "per_finished"
    PER_DILUENT = "per_diluent"


class Severity(StrEnum):
    """What follows from a judgement; REFUSE only before mixing, VIOLATION only afterwards."""

    REFUSE = "refuse"
    VIOLATION = "violation"
    WARN = "warn"
    NOTE = "note"


class LimitFact(StrEnum):
    """What a typed label limit is about; the unit is fixed for each (`limit_comparisons`)."""

    HEIGHT_UP = "height_up"
    WIDTH_OUT = "width_out"
    SPOT_SIZE = "spot_size"
    ENTRY_BAND = "entry_band"
    WIND = "wind"
    TEMPERATURE_MIN = "temperature_min"
    TEMPERATURE_MAX = "temperature_max"
    RAIN_HOURS = "rain_hours"
    WATER_DISTANCE = "water_distance"
    PRODUCT_PER_AREA_YEAR = "product_per_area_year"
    INGREDIENT_PER_ACRE_YEAR = "ingredient_per_acre_year"
    IMPERVIOUS_HORIZONTAL = "impervious_horizontal"
    RAIN_PROTECTED_ONLY = "rain_protected_only"
    SPACE_MAX = "space_max"
    IN_BLOOM = "in_bloom"
    BEES_FORAGING = "bees_foraging"
    HIVE_DISTANCE = "hive_distance"
    TAMPER_RESISTANT = "tamper_resistant"
    ANCHORED = "anchored"
    MARKED = "marked"
    PLACEMENT_WEIGHT = "placement_weight"
    PLACEMENT_SPACING = "placement_spacing"
    BAITING_DAYS = "baiting_days"
    CHECK_DAYS = "check_days"
    CARCASSES = "carcasses"
    REENTRY_UNDERSTOOD = "reentry_understood"
    FOOD_AREA_CLOSED = "food_area_closed"
    MIXED_HOURS = "mixed_hours"
    TANK_MIX = "tank_mix"
    FILL_TURN = "fill_turn"
    BAIT_DAYS = "bait_days"
    HIGH_RATE_ONLY = "high_rate_only"
    AGITATION = "agitation"
    WATER_PH = "water_ph"
    RUN_OFF = "run_off"
    WATERED_IN = "watered_in"
    WATERED_IN_DEPTH = "watered_in_depth"
    WATERED_IN_HOURS = "watered_in_hours"
    SURFACE_SHARE = "surface_share"
    VACANT_ONLY = "vacant_only"
    SCHOOL = "school"
    SCHOOL_HOURS = "school_hours"
    ROTATION = "rotation"
    LICENSE_CATEGORY = "license_category"


class Comparison(StrEnum):
    """What the measured fact must be, seen from the limit."""

    AT_MOST = "at_most"
    AT_LEAST = "at_least"
    FORBIDDEN = "forbidden"
    REQUIRED = "required"


class Task(StrEnum):
    """What somebody does while wearing what the label asks for."""

    MIX_AND_LOAD = "mix_and_load"
    APPLY = "apply"
    OVERHEAD = "overhead"
    CONFINED = "confined"
    DUST = "dust"
    CLEAN_UP = "clean_up"


class FileKind(StrEnum):
    """Which paper of a product a file is."""

    LABEL = "label"
    SAFETY_SHEET = "safety_sheet"


class LicenseKind(StrEnum):
    """In what standing somebody applies products."""

    CERTIFIED = "certified"
    REGISTERED_TECHNICIAN = "registered_technician"
    NONCERTIFIED_TRAINED = "noncertified_trained"
    APPRENTICE = "apprentice"


REGISTRATION_KIND_WORDS: Mapping[StrEnum, str] = {
    RegistrationKind.SECTION3: "Federal registration",
    RegistrationKind.DISTRIBUTOR: "Distributor product",
    RegistrationKind.STATE_ONLY: "State registration only",
    RegistrationKind.SLN_24C: "Special local need",
    RegistrationKind.SECTION18: "Emergency exemption",
    RegistrationKind.EUP: "Experimental use permit",
    RegistrationKind.EXEMPT_25B: "Minimum risk, exempt",
    RegistrationKind.DEVICE: "Device",
    RegistrationKind.NOT_A_PESTICIDE: "Not a pesticide",
}
SIGNAL_WORD_WORDS: Mapping[StrEnum, str] = {
    SignalWord.DANGER_POISON: "Danger – Poison",
    SignalWord.DANGER: "Danger",
    SignalWord.WARNING: "Warning",
    SignalWord.CAUTION: "Caution",
    SignalWord.NONE: "No signal word",
}
FORMULATION_WORDS: Mapping[StrEnum, str] = {
    Formulation.SC: "Suspension concentrate (SC)",
    Formulation.EC: "Emulsifiable concentrate (EC)",
    Formulation.CS: "Capsule suspension (CS)",
    Formulation.ME: "Microemulsion (ME)",
    Formulation.SL: "Soluble concentrate (SL)",
    Formulation.WP: "Wettable powder (WP)",
    Formulation.WG: "Water-dispersible granule (WG)",
    Formulation.WSB: "Water-soluble bag",
    Formulation.GRANULE: "Granule",
    Formulation.DUST: "Dust",
    Formulation.GEL: "Gel",
    Formulation.BAIT: "Bait",
    Formulation.FOAM: "Foam",
    Formulation.AEROSOL: "Aerosol",
    Formulation.READY_TO_USE: "Ready to use",
}
METHOD_WORDS: Mapping[StrEnum, str] = {
    Method.PERIMETER_BAND: "Perimeter band",
    Method.BROADCAST: "Broadcast",
    Method.SPOT: "Spot",
    Method.CRACK_CREVICE: "Crack and crevice",
    Method.VOID: "Void injection",
    Method.SOIL: "Soil",
    Method.GRANULE: "Granules",
    Method.BAIT: "Bait placement",
    Method.DUST: "Dust",
    Method.FOAM: "Foam",
    Method.SPACE: "Space treatment (fog, mist, ULV)",
    Method.PAINT_ON: "Paint on",
    Method.DEVICE: "Device",
    Method.NO_PRODUCT: "Work without a product",
}
LABEL_METHOD_WORDS: Mapping[StrEnum, str] = {one: METHOD_WORDS[one] for one in LABEL_METHODS}
RATE_BASIS_WORDS: Mapping[StrEnum, str] = {
    RateBasis.AREA: "Per area",
    RateBasis.FINISHED_VOLUME: "Per finished spray",
    RateBasis.DILUENT_VOLUME: "Per water added",
    RateBasis.LINEAR: "Per length",
    RateBasis.COUNT: "Per placement",
    RateBasis.SPACE_VOLUME: "Per space",
    RateBasis.PERCENT: "Percent",
}
MIX_BASIS_WORDS: Mapping[StrEnum, str] = {
    MixBasis.PER_FINISHED: "Made up to the finished volume",
    MixBasis.PER_DILUENT: "Added to the water",
}
SEVERITY_WORDS: Mapping[StrEnum, str] = {
    Severity.REFUSE: "Refused",
    Severity.VIOLATION: "Label not followed",
    Severity.WARN: "Check",
    Severity.NOTE: "Passed",
}
LIMIT_FACT_WORDS: Mapping[StrEnum, str] = {
    LimitFact.HEIGHT_UP: "Height up the wall (ft)",
    LimitFact.WIDTH_OUT: "Width out (ft)",
    LimitFact.SPOT_SIZE: "One spot (sq ft)",
    LimitFact.ENTRY_BAND: "Band around an entry point (in)",
    LimitFact.WIND: "Wind (mph)",
    LimitFact.TEMPERATURE_MIN: "Lowest temperature (°F)",
    LimitFact.TEMPERATURE_MAX: "Highest temperature (°F)",
    LimitFact.RAIN_HOURS: "Hours until rain",
    LimitFact.WATER_DISTANCE: "Distance to water (ft)",
    LimitFact.PRODUCT_PER_AREA_YEAR: "Product per 1,000 sq ft in a year",
    LimitFact.INGREDIENT_PER_ACRE_YEAR: "Active ingredient (lb) per acre in a year",
    LimitFact.IMPERVIOUS_HORIZONTAL: "Impervious horizontal surface",
    LimitFact.RAIN_PROTECTED_ONLY: "Only where protected from rain",
    LimitFact.SPACE_MAX: "Largest space (cu ft)",
    LimitFact.IN_BLOOM: "Plants in bloom",
    LimitFact.BEES_FORAGING: "Bees foraging",
    LimitFact.HIVE_DISTANCE: "Distance to hives (ft)",
    LimitFact.TAMPER_RESISTANT: "Tamper-resistant station",
    LimitFact.ANCHORED: "Station anchored",
    LimitFact.MARKED: "Station marked",
    LimitFact.PLACEMENT_WEIGHT: "One placement (oz by weight)",
    LimitFact.PLACEMENT_SPACING: "Between placements (ft)",
    LimitFact.BAITING_DAYS: "Longest baiting (days)",
    LimitFact.CHECK_DAYS: "Between checks (days)",
    LimitFact.CARCASSES: "Carcasses collected",
    LimitFact.REENTRY_UNDERSTOOD: "Occupants understand re-entry",
    LimitFact.FOOD_AREA_CLOSED: "Food area not operating",
    LimitFact.MIXED_HOURS: "Hours to use a mixed load",
    LimitFact.TANK_MIX: "Tank mix with other products",
    LimitFact.FILL_TURN: "Turn in the order of filling",
    LimitFact.BAIT_DAYS: "Between bait and repellent spray (days)",
    LimitFact.HIGH_RATE_ONLY: "Condition for the high rate",
    LimitFact.AGITATION: "Agitation of the tank",
    LimitFact.WATER_PH: "pH of the water",
    LimitFact.RUN_OFF: "Spray to the point of run-off",
    LimitFact.WATERED_IN: "Watering in",
    LimitFact.WATERED_IN_DEPTH: "Water to water it in (in)",
    LimitFact.WATERED_IN_HOURS: "Hours until it is watered in",
    LimitFact.SURFACE_SHARE: "Treated part of a surface (%)",
    LimitFact.VACANT_ONLY: "Only in vacant places",
    LimitFact.SCHOOL: "Schools and day care",
    LimitFact.SCHOOL_HOURS: "School, outside its hours",
    LimitFact.ROTATION: "Rotation against resistance",
    LimitFact.LICENSE_CATEGORY: "License category of the applicator",
}
COMPARISON_WORDS: Mapping[StrEnum, str] = {
    Comparison.AT_MOST: "At most",
    Comparison.AT_LEAST: "At least",
    Comparison.FORBIDDEN: "Not allowed",
    Comparison.REQUIRED: "Required",
}
TASK_WORDS: Mapping[StrEnum, str] = {
    Task.MIX_AND_LOAD: "Mix and load",
    Task.APPLY: "Apply",
    Task.OVERHEAD: "Overhead",
    Task.CONFINED: "Unventilated or confined",
    Task.DUST: "Dust",
    Task.CLEAN_UP: "Clean up",
}
FILE_KIND_WORDS: Mapping[StrEnum, str] = {
    FileKind.LABEL: "Label",
    FileKind.SAFETY_SHEET: "Safety data sheet",
}
LICENSE_KIND_WORDS: Mapping[StrEnum, str] = {
    LicenseKind.CERTIFIED: "Certified applicator",
    LicenseKind.REGISTERED_TECHNICIAN: "Registered technician",
    LicenseKind.NONCERTIFIED_TRAINED: "Noncertified, trained",
    LicenseKind.APPRENTICE: "Apprentice",
}
