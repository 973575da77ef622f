"""The tables of the first floor."""

from sites.models.pests import Pest
from sites.models.places import (
    Preference,
    Property,
    PropertyAccess,
    SiteCaution,
    TreatableZone,
    Unit,
)
from sites.models.runs import WallRun

__all__ = [
    "Pest",
    "Preference",
    "Property",
    "PropertyAccess",
    "SiteCaution",
    "TreatableZone",
    "Unit",
    "WallRun",
]
