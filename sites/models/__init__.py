"""The tables of the first floor."""

from sites.models.logbook import (
    GUARDS,
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

__all__ = [
    "GUARDS",
    "CorrectiveAction",
    "CorrectiveStep",
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
    "TreatableZone",
    "Unit",
    "WallRun",
]
