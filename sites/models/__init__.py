"""The tables of the first floor."""

from sites.models import exclusion, inspections, photos
from sites.models.exclusion import ExclusionTask, TaskEnding
from sites.models.inspections import (
    CheckpointAnswer,
    Finding,
    FindingClosing,
    FindingZone,
    Inspection,
    InspectionEnding,
    InspectionReport,
)
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

GUARDS = (*inspections.GUARDS, *exclusion.GUARDS, *photos.GUARDS)

__all__ = [
    "GUARDS",
    "CheckpointAnswer",
    "ExclusionTask",
    "Finding",
    "FindingClosing",
    "FindingZone",
    "Inspection",
    "InspectionEnding",
    "InspectionReport",
    "Pest",
    "Photo",
    "Preference",
    "Property",
    "PropertyAccess",
    "SiteCaution",
    "TaskEnding",
    "TreatableZone",
    "Unit",
    "WallRun",
]
