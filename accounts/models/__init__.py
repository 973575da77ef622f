"""The tables of the ground floor."""

from accounts.models.contact_links import ContactLink
from accounts.models.customers import Contact, Customer
from accounts.models.events import GUARDS as EVENT_GUARDS
from accounts.models.events import AuditEvent, OpenItem
from accounts.models.inspectors import InspectorVisit
from accounts.models.people import ApplicatorLicense, Branch, Person, RespiratorPaper, RoleGrant
from accounts.models.register import (
    REGISTER_GUARDS,
    ContinuingEducation,
    EducationCycle,
    FirmPaper,
    TrainingRecord,
)

GUARDS = (*EVENT_GUARDS, *REGISTER_GUARDS)

__all__ = [
    "GUARDS",
    "ApplicatorLicense",
    "AuditEvent",
    "Branch",
    "Contact",
    "ContactLink",
    "ContinuingEducation",
    "Customer",
    "EducationCycle",
    "FirmPaper",
    "InspectorVisit",
    "OpenItem",
    "Person",
    "RespiratorPaper",
    "RoleGrant",
    "TrainingRecord",
]
