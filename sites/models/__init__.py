"""The tables of the first floor."""

from sites.models.identification import (
    GUARDS,
    Identification,
    LookAlike,
    Taxon,
    TaxonTrait,
    Trait,
    TraitValue,
)
from sites.models.outlines import OutlineWall, WaterFeature
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
    "GUARDS",
    "Identification",
    "LookAlike",
    "OutlineWall",
    "Pest",
    "Preference",
    "Property",
    "PropertyAccess",
    "SiteCaution",
    "Taxon",
    "TaxonTrait",
    "Trait",
    "TraitValue",
    "TreatableZone",
    "Unit",
    "WallRun",
    "WaterFeature",
]
