"""Who may: one list of permissions, one table of roles, one question.

A rule never looks at a role and a role never knows a rate; what the label and the law allow
lives in the pure rule modules of each floor.
"""

from __future__ import annotations

from collections.abc import Set
from enum import StrEnum
from typing import Protocol

from accounts.refusals import Refused


class Role(StrEnum):
    """What a person does in the firm; a person may hold several."""

    OFFICE = "office"
    TECHNICIAN = "technician"
    MANAGER = "manager"


class Permission(StrEnum):
    """One act that somebody may or may not do."""

    SEE_OWN_PAGE = "see_own_page"
    SEE_OPEN_ITEMS = "see_open_items"
    CLOSE_OPEN_ITEMS = "close_open_items"
    SEE_CUSTOMERS = "see_customers"
    EDIT_CUSTOMERS = "edit_customers"
    EDIT_PROPERTIES = "edit_properties"
    INSPECT = "inspect"
    SEE_SEALED_PHOTOS = "see_sealed_photos"
    SEE_PEOPLE = "see_people"
    EDIT_PEOPLE = "edit_people"
    GRANT_ROLES = "grant_roles"
    EDIT_LICENSES = "edit_licenses"
    EDIT_SHIFTS = "edit_shifts"
    EDIT_BRANCHES = "edit_branches"
    IMPORT_ACCOUNTS = "import_accounts"
    SEE_RENEWALS = "see_renewals"
    BOOK_VISITS = "book_visits"
    EDIT_AGREEMENTS = "edit_agreements"
    PLAN_ROUTES = "plan_routes"
    WORK_STOPS = "work_stops"
    RECORD_APPLICATIONS = "record_applications"
    SEE_USE_LOG = "see_use_log"
    EXPORT_USE_LOG = "export_use_log"
    VERIFY_LOG = "verify_log"
    COMPLETE_RECORDS = "complete_records"
    DECIDE_CORRECTIONS = "decide_corrections"
    CLOSE_PERIODS = "close_periods"
    EXPORT_BUNDLE = "export_bundle"
    RECEIVE_INSPECTORS = "receive_inspectors"
    DECIDE_UNLISTED_USE = "decide_unlisted_use"
    SEE_LABELS = "see_labels"
    EDIT_LABELS = "edit_labels"
    SEE_STOCK = "see_stock"
    EDIT_STOCK = "edit_stock"
    SEE_VEHICLES = "see_vehicles"
    CHECK_VEHICLES = "check_vehicles"
    LOAD_VEHICLE = "load_vehicle"
    SEE_INCIDENTS = "see_incidents"
    REPORT_INCIDENTS = "report_incidents"
    EDIT_INCIDENTS = "edit_incidents"
    HOLD_RECORDS = "hold_records"
    PURGE_RECORDS = "purge_records"
    ANSWER_SIGHTINGS = "answer_sightings"
    GIVE_COPIES = "give_copies"
    SEE_NOTICES = "see_notices"
    EDIT_NOTICE_TEMPLATES = "edit_notice_templates"


_OFFICE = frozenset(
    {
        Permission.SEE_OWN_PAGE,
        Permission.SEE_OPEN_ITEMS,
        Permission.CLOSE_OPEN_ITEMS,
        Permission.SEE_CUSTOMERS,
        Permission.EDIT_CUSTOMERS,
        Permission.EDIT_PROPERTIES,
        Permission.INSPECT,
        Permission.SEE_PEOPLE,
        Permission.EDIT_PEOPLE,
        Permission.EDIT_LICENSES,
        Permission.EDIT_SHIFTS,
        Permission.IMPORT_ACCOUNTS,
        Permission.SEE_RENEWALS,
        Permission.BOOK_VISITS,
        Permission.EDIT_AGREEMENTS,
        Permission.PLAN_ROUTES,
        Permission.COMPLETE_RECORDS,
        Permission.DECIDE_UNLISTED_USE,
        Permission.SEE_LABELS,
        Permission.SEE_STOCK,
        Permission.SEE_VEHICLES,
        Permission.SEE_INCIDENTS,
        Permission.ANSWER_SIGHTINGS,
        Permission.GIVE_COPIES,
        Permission.SEE_NOTICES,
    }
)
_TECHNICIAN = frozenset(
    {
        Permission.SEE_OWN_PAGE,
        Permission.WORK_STOPS,
        Permission.INSPECT,
        Permission.RECORD_APPLICATIONS,
        Permission.COMPLETE_RECORDS,
        Permission.DECIDE_UNLISTED_USE,
        Permission.SEE_LABELS,
        Permission.SEE_VEHICLES,
        Permission.CHECK_VEHICLES,
        Permission.LOAD_VEHICLE,
        Permission.SEE_INCIDENTS,
        Permission.REPORT_INCIDENTS,
        Permission.ANSWER_SIGHTINGS,
        Permission.GIVE_COPIES,
    }
)
_MANAGER = _OFFICE | {
    Permission.GRANT_ROLES,
    Permission.EDIT_BRANCHES,
    Permission.SEE_SEALED_PHOTOS,
    Permission.SEE_USE_LOG,
    Permission.EXPORT_USE_LOG,
    Permission.VERIFY_LOG,
    Permission.DECIDE_CORRECTIONS,
    Permission.CLOSE_PERIODS,
    Permission.EXPORT_BUNDLE,
    Permission.RECEIVE_INSPECTORS,
    Permission.EDIT_LABELS,
    Permission.EDIT_STOCK,
    Permission.CHECK_VEHICLES,
    Permission.REPORT_INCIDENTS,
    Permission.EDIT_INCIDENTS,
    Permission.HOLD_RECORDS,
    Permission.PURGE_RECORDS,
    Permission.EDIT_NOTICE_TEMPLATES,
}

ROLES: dict[Role, Set[Permission]] = {
    Role.OFFICE: _OFFICE,
    Role.TECHNICIAN: _TECHNICIAN,
    Role.MANAGER: _MANAGER,
}


class HasRoles(Protocol):
    """Anyone with an account: active or not, and the roles granted."""

    is_active: bool

    @property
    def roles(self) -> frozenset[Role]: ...


def allows(person: HasRoles | None, permission: Permission) -> bool:
    """Say whether one of the person's roles holds the permission; nobody and the inactive: no."""
    if person is None or not person.is_active:
        return False
    return any(permission in ROLES[role] for role in person.roles)


def require(person: HasRoles | None, permission: Permission) -> None:
    """Refuse the act unless the person holds the permission.

    `None` is the system itself (sweep, import from the command line, first branch): it may.
    """
    if person is not None and not allows(person, permission):
        raise Refused(
            "not_permitted",
            "Your role does not include this. Ask a manager to do it or to change your roles.",
        )
