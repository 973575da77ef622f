"""The tables of the ground floor."""

from accounts.models.contact_links import ContactLink
from accounts.models.contact_log import ContactEntry
from accounts.models.customers import Contact, Customer
from accounts.models.events import GUARDS as EVENT_GUARDS
from accounts.models.events import AuditEvent, OpenItem
from accounts.models.feeds import FeedLink
from accounts.models.inspectors import InspectorVisit
from accounts.models.notices import NOTICE_GUARDS, Notice, NoticeEvidence, NoticeTemplate
from accounts.models.people import ApplicatorLicense, Branch, Person, RespiratorPaper, RoleGrant
from accounts.models.register import (
    REGISTER_GUARDS,
    ContinuingEducation,
    EducationCycle,
    FirmPaper,
    TrainingRecord,
)

GUARDS = (*EVENT_GUARDS, *REGISTER_GUARDS, *NOTICE_GUARDS)

__all__ = [
    "GUARDS",
    "ApplicatorLicense",
    "AuditEvent",
    "Branch",
    "Contact",
    "ContactEntry",
    "ContactLink",
    "ContinuingEducation",
    "Customer",
    "EducationCycle",
    "FeedLink",
    "FirmPaper",
    "InspectorVisit",
    "Notice",
    "NoticeEvidence",
    "NoticeTemplate",
    "OpenItem",
    "Person",
    "RespiratorPaper",
    "RoleGrant",
    "TrainingRecord",
]
