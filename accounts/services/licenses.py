"""Writing licenses."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from accounts.models import ApplicatorLicense
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.rules.postal import state_code
from accounts.selectors.people import license_for, person_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person


def add_license(
    *,
    person_id: int,
    kind: str,
    number: str,
    state: str,
    issued_on: date,
    expires_on: date,
    by: Person | None,
    categories: str = "",
    supervisor_id: int | None = None,
) -> ApplicatorLicense:
    """Enter a license of a person, in force from `issued_on` to `expires_on`, both included.

    Refused: an unknown kind or state, an end before the issue, a supervisor who is the person,
    the same number of the same state and day entered twice.
    """
    require(by, Permission.EDIT_LICENSES)
    with transaction.atomic():
        license = ApplicatorLicense(person=person_for(by, person_id), created_by=by)
        _fill(license, kind, number, state, categories)
        _term(license, issued_on, expires_on)
        _supervise(license, supervisor_id, by)
        _save(license)
        note_event(by=by, act="license_added", thing=license, told=_told(license))
    return license


def edit_license(
    *,
    license_id: int,
    kind: str,
    number: str,
    state: str,
    issued_on: date,
    expires_on: date,
    by: Person | None,
    categories: str = "",
    supervisor_id: int | None = None,
) -> ApplicatorLicense:
    """Change a license; refused as in `add_license`. A renewed license is added, not changed."""
    require(by, Permission.EDIT_LICENSES)
    with transaction.atomic():
        license = license_for(by, license_id)
        before = _told(license)
        _fill(license, kind, number, state, categories)
        _term(license, issued_on, expires_on)
        _supervise(license, supervisor_id, by)
        _save(license)
        note_event(by=by, act="license_edited", thing=license, before=before, told=_told(license))
    return license


def _fill(license: ApplicatorLicense, kind: str, number: str, state: str, categories: str) -> None:
    kinds = ApplicatorLicense.Kind.values
    license.kind = one_of(kind, kinds, field="kind", label="Kind of license")
    license.number = line(number, field="number", label="License number", most=40)
    license.state = state_code(state)
    license.categories = line(
        categories, field="categories", label="Categories", most=200, needed=False
    )


def _term(license: ApplicatorLicense, issued_on: date, expires_on: date) -> None:
    if expires_on < issued_on:
        raise Refused(
            "term", "The license ends before it was issued. Check both dates.", field="expires_on"
        )
    license.issued_on, license.expires_on = issued_on, expires_on


def _supervise(license: ApplicatorLicense, supervisor_id: int | None, by: Person | None) -> None:
    if supervisor_id is not None and supervisor_id == license.person_id:
        raise Refused(
            "supervisor",
            "Nobody is in charge of themselves. Choose somebody else.",
            field="supervisor",
        )
    license.supervisor = person_for(by, supervisor_id) if supervisor_id else None


def _save(license: ApplicatorLicense) -> None:
    try:
        with transaction.atomic():
            license.save()
    except IntegrityError as failure:
        raise Refused(
            "license_exists",
            f"License {license} issued that day is entered already. Look under its holder.",
            field="number",
        ) from failure


def _told(license: ApplicatorLicense) -> dict[str, str]:
    return {
        "number": str(license),
        "kind": license.kind,
        "issued_on": license.issued_on.isoformat(),
        "expires_on": license.expires_on.isoformat(),
    }
