"""The words for where work is done and what is found there: a list of our own.

Places follow EPA's outdoor pyrethroid label language (2009, options of 2013; archived page, read).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Place(StrEnum):
    """The use site of a zone, as a label names it."""

    FOUNDATION_WALL = "foundation_wall"
    SOIL_BAND = "soil_band"
    VEGETATION = "vegetation"
    EAVE_SOFFIT = "eave_soffit"
    ENTRY_POINT = "entry_point"
    CRACK_CREVICE = "crack_crevice"
    INTERIOR_SPOT = "interior_spot"
    VOID = "void"
    ATTIC = "attic"
    CRAWL_SPACE = "crawl_space"
    FOOD_AREA = "food_area"
    OPEN_SPACE = "open_space"


class Surface(StrEnum):
    """What the product lands on."""

    POROUS_MASONRY = "porous_masonry"
    PAINTED = "painted"
    BARE_WOOD = "bare_wood"
    METAL_GLASS = "metal_glass"
    SOIL_MULCH = "soil_mulch"
    IMPERVIOUS = "impervious"


class Exposure(StrEnum):
    """How much weather a zone gets."""

    SHELTERED = "sheltered"
    SHADED = "shaded"
    SUN = "sun"


class Geometry(StrEnum):
    """How a zone is measured."""

    BAND = "band"
    LINEAR = "linear"
    SURFACE = "surface"
    VOLUME = "volume"
    COUNT = "count"


class Corners(StrEnum):
    """How the outside corners of a band are counted (plane geometry)."""

    SIMPLE = "simple"
    SQUARE = "square"
    ROUNDED = "rounded"


class PestGroup(StrEnum):
    """The pests one residual window is kept for."""

    GENERAL = "general"
    OVERWINTERING = "overwintering"
    ANTS = "ants"
    COCKROACHES = "cockroaches"
    FLIES = "flies"
    RODENTS = "rodents"
    SPIDERS = "spiders"
    OTHER = "other"


class SiteKind(StrEnum):
    """What kind of place a property is; rules and labels speak of some (the list is ours)."""

    HOME = "home"
    APARTMENTS = "apartments"
    SCHOOL = "school"
    DAY_CARE = "day_care"
    FOOD_PLANT = "food_plant"
    FOOD_SERVICE = "food_service"
    HEALTH_CARE = "health_care"
    LODGING = "lodging"
    OFFICE = "office"
    WAREHOUSE = "warehouse"
    OTHER = "other"


class CautionKind(StrEnum):
    """What to watch for at a property."""

    DOG = "dog"
    PETS = "pets"
    FISH_POND = "fish_pond"
    AQUARIUM = "aquarium"
    BEES = "bees"
    WELL = "well"
    INFANTS = "infants"
    SENSITIVE_OCCUPANT = "sensitive_occupant"
    OTHER = "other"


class PreferenceKind(StrEnum):
    """What a customer asked for or refused."""

    NO_PESTICIDE_INSIDE = "no_pesticide_inside"
    BAIT_ONLY = "bait_only"
    CALL_FIRST = "call_first"
    PRODUCT_REFUSED = "product_refused"
    OTHER = "other"


PLACE_WORDS: Mapping[StrEnum, str] = {
    Place.FOUNDATION_WALL: "Foundation wall",
    Place.SOIL_BAND: "Soil band",
    Place.VEGETATION: "Vegetation",
    Place.EAVE_SOFFIT: "Eave or soffit",
    Place.ENTRY_POINT: "Entry point",
    Place.CRACK_CREVICE: "Crack and crevice",
    Place.INTERIOR_SPOT: "Interior spot",
    Place.VOID: "Void",
    Place.ATTIC: "Attic",
    Place.CRAWL_SPACE: "Crawl space",
    Place.FOOD_AREA: "Food area",
    Place.OPEN_SPACE: "Open space",
}
SURFACE_WORDS: Mapping[StrEnum, str] = {
    Surface.POROUS_MASONRY: "Brick, block or unsealed concrete wall",
    Surface.PAINTED: "Painted or sealed",
    Surface.BARE_WOOD: "Unpainted wood",
    Surface.METAL_GLASS: "Metal or glass",
    Surface.SOIL_MULCH: "Soil or mulch",
    Surface.IMPERVIOUS: "Impervious horizontal surface",
}
EXPOSURE_WORDS: Mapping[StrEnum, str] = {
    Exposure.SHELTERED: "Sheltered",
    Exposure.SHADED: "Shaded",
    Exposure.SUN: "Full sun",
}
GEOMETRY_WORDS: Mapping[StrEnum, str] = {
    Geometry.BAND: "Band along a wall",
    Geometry.LINEAR: "Length",
    Geometry.SURFACE: "Surface",
    Geometry.VOLUME: "Space",
    Geometry.COUNT: "Count of places",
}
CORNERS_WORDS: Mapping[StrEnum, str] = {
    Corners.SIMPLE: "Not counted (run × width)",
    Corners.SQUARE: "Square corners added",
    Corners.ROUNDED: "Rounded corners added",
}
PEST_GROUP_WORDS: Mapping[StrEnum, str] = {
    PestGroup.GENERAL: "General pests",
    PestGroup.OVERWINTERING: "Overwintering insects",
    PestGroup.ANTS: "Ants",
    PestGroup.COCKROACHES: "Cockroaches",
    PestGroup.FLIES: "Flies",
    PestGroup.RODENTS: "Rodents",
    PestGroup.SPIDERS: "Spiders",
    PestGroup.OTHER: "Other",
}
SITE_WORDS: dict[StrEnum, str] = {
    SiteKind.HOME: "Home",
    SiteKind.APARTMENTS: "Apartments",
    SiteKind.SCHOOL: "School",
    SiteKind.DAY_CARE: "Day care",
    SiteKind.FOOD_PLANT: "Food plant",
    SiteKind.FOOD_SERVICE: "Kitchen or restaurant",
    SiteKind.HEALTH_CARE: "Hospital or care home",
    SiteKind.LODGING: "Hotel or lodging",
    SiteKind.OFFICE: "Office or shop",
    SiteKind.WAREHOUSE: "Warehouse",
    SiteKind.OTHER: "Something else",
}
SCHOOLS = frozenset({SiteKind.SCHOOL, SiteKind.DAY_CARE})


def is_school(kind: str) -> bool | None:
    """Whether a kind of site is a school or day care; None where the kind is not entered."""
    return kind in SCHOOLS if kind else None


CAUTION_WORDS: Mapping[StrEnum, str] = {
    CautionKind.DOG: "Dog",
    CautionKind.PETS: "Pets",
    CautionKind.FISH_POND: "Fish pond",
    CautionKind.AQUARIUM: "Aquarium",
    CautionKind.BEES: "Bees or hives",
    CautionKind.WELL: "Well",
    CautionKind.INFANTS: "Infants",
    CautionKind.SENSITIVE_OCCUPANT: "Sensitive occupant: talk first",
    CautionKind.OTHER: "Other",
}
PREFERENCE_WORDS: Mapping[StrEnum, str] = {
    PreferenceKind.NO_PESTICIDE_INSIDE: "No pesticide inside",
    PreferenceKind.BAIT_ONLY: "Bait only",
    PreferenceKind.CALL_FIRST: "Call first",
    PreferenceKind.PRODUCT_REFUSED: "Product refused",
    PreferenceKind.OTHER: "Other",
}

INSIDE: frozenset[Place] = frozenset(
    {
        Place.INTERIOR_SPOT,
        Place.VOID,
        Place.ATTIC,
        Place.CRAWL_SPACE,
        Place.FOOD_AREA,
    }
)


def choices(words: Mapping[StrEnum, str]) -> list[tuple[str, str]]:
    """Value and label pairs of one word list, in its own order.

    `words` is one of the `..._WORDS` tables; the result is what a choice field takes.
    """
    return [(word.value, label) for word, label in words.items()]
