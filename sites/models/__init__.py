"""The tables of the first floor."""

from sites.models import devices, exclusion, identification, inspections, logbook, photos
from sites.models.devices import (
    Device,
    DeviceCheck,
    DeviceCount,
    DeviceRemoval,
    DeviceThreshold,
)
from sites.models.exclusion import ExclusionTask, TaskAsk, TaskEnding
from sites.models.identification import (
    Identification,
    LookAlike,
    Taxon,
    TaxonTrait,
    Trait,
    TraitValue,
)
from sites.models.inspections import (
    CheckpointAnswer,
    Finding,
    FindingClosing,
    FindingIdentification,
    FindingZone,
    Inspection,
    InspectionEnding,
    InspectionReport,
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
from sites.models.outlines import OutlineWall, WaterFeature
from sites.models.pests import Pest
from sites.models.photos import Photo
from sites.models.places import (
    Preference,
    Property,
    PropertyAccess,
    SiteCaution,
    TreatableZone,
    Unit,
)
from sites.models.runs import WallRun

GUARDS = (
    *devices.GUARDS,
    *identification.GUARDS,
    *logbook.GUARDS,
    *inspections.GUARDS,
    *exclusion.GUARDS,
    *photos.GUARDS,
)

__all__ = [
    "GUARDS",
    "CheckpointAnswer",
    "CorrectiveAction",
    "CorrectiveStep",
    "Device",
    "DeviceCheck",
    "DeviceCount",
    "DeviceRemoval",
    "DeviceThreshold",
    "ExclusionTask",
    "Finding",
    "FindingClosing",
    "FindingIdentification",
    "FindingZone",
    "Identification",
    "Inspection",
    "InspectionEnding",
    "InspectionReport",
    "LookAlike",
    "ManagementPlan",
    "OutlineWall",
    "Pest",
    "Photo",
    "Preference",
    "Property",
    "PropertyAccess",
    "Sighting",
    "SightingAnswer",
    "SightingReporter",
    "SiteCaution",
    "SiteCode",
    "SiteReview",
    "TaskAsk",
    "TaskEnding",
    "Taxon",
    "TaxonTrait",
    "Trait",
    "TraitValue",
    "TreatableZone",
    "Unit",
    "WallRun",
    "WaterFeature",
]
