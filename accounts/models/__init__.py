"""The tables of the ground floor."""

from accounts.models.customers import Contact, Customer
from accounts.models.events import GUARDS, AuditEvent, OpenItem
from accounts.models.people import ApplicatorLicense, Branch, Person, RespiratorPaper, RoleGrant

__all__ = [
    "GUARDS",
    "ApplicatorLicense",
    "AuditEvent",
    "Branch",
    "Contact",
    "Customer",
    "OpenItem",
    "Person",
    "RespiratorPaper",
    "RoleGrant",
]
