"""The tables of the ground floor."""

from accounts.models.customers import Contact, Customer
from accounts.models.events import GUARDS, AuditEvent, OpenItem
from accounts.models.inspectors import InspectorVisit
from accounts.models.people import ApplicatorLicense, Branch, Person, RespiratorPaper, RoleGrant

__all__ = [
    "GUARDS",
    "ApplicatorLicense",
    "AuditEvent",
    "Branch",
    "Contact",
    "Customer",
    "InspectorVisit",
    "OpenItem",
    "Person",
    "RespiratorPaper",
    "RoleGrant",
]
