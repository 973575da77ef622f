"""The tables of the first floor."""

from sites.models.identification import (
    GUARDS as IDENTIFICATION_GUARDS,
)
from sites.models.identification import (
    Identification,
    LookAlike,
    Taxon,
    TaxonTrait,
    Trait,
    TraitValue,
)
from sites.models.logbook import (
    GUARDS as LOGBOOK_GUARDS,
)
from sites.models.logbook import (
    CorrectiveAction,
    CorrectiveStep,
    ManagementPlan,
    Sighting,
    SightingAnswer,
    SightingReporter,
    SiteCode,
    SiteReview,
)
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

GUARDS = (*IDENTIFICATION_GUARDS, *LOGBOOK_GUARDS)

__all__ = [
    "GUARDS",
    "CorrectiveAction",
    "CorrectiveStep",
    "Identification",
    "LookAlike",
    "ManagementPlan",
    "Pest",
    "Preference",
    "Property",
    "PropertyAccess",
    "Sighting",
    "SightingAnswer",
    "SightingReporter",
    "SiteCaution",
    "SiteCode",
    "SiteReview",
    "Taxon",
    "TaxonTrait",
    "Trait",
    "TraitValue",
    "TreatableZone",
    "Unit",
    "WallRun",
]
