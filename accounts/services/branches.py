"""Writing branches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction

from accounts.models import Branch
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.rules.phones import to_e164
from accounts.rules.postal import TIME_ZONES, main_time_zone, state_code, zip_line
from accounts.selectors.people import branch_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person

LINES = {
    "business_license_number": ("Business license number", 60),
    "street": ("Street", 200),
    "city": ("City", 100),
}
PHONES = ("phone", "after_hours_phone")
OTHERS = ("zip_code", "time_zone", "units", "latitude", "longitude")
COLUMNS = frozenset({*LINES, *PHONES, *OTHERS})


def open_branch(*, name: str, state: str, by: Person | None, **fields: Any) -> Branch:
    """Open a shop; the time zone is the state's unless given.

    `fields` are the other columns of a branch, as typed. Refused: a name that is taken, an
    unknown state, a ZIP code or telephone number that is none.
    """
    require(by, Permission.EDIT_BRANCHES)
    fields.setdefault("time_zone", main_time_zone(state_code(state)))
    with transaction.atomic():
        branch = _saved(Branch(created_by=by), _checked(name, state, fields))
        note_event(by=by, act="branch_opened", thing=branch, name=branch.name)
    return branch


def edit_branch(
    *, branch_id: int, name: str, state: str, by: Person | None, **fields: Any
) -> Branch:
    """Change a shop; columns not named stay. Refused as in `open_branch`."""
    require(by, Permission.EDIT_BRANCHES)
    with transaction.atomic():
        values = _checked(name, state, fields)
        branch = _saved(branch_for(by, branch_id), values)
        note_event(by=by, act="branch_edited", thing=branch, changed=sorted(values))
    return branch


def _saved(branch: Branch, values: dict[str, Any]) -> Branch:
    for column, value in values.items():
        setattr(branch, column, value)
    try:
        with transaction.atomic():
            branch.save()
    except IntegrityError as failure:
        raise Refused(
            "branch_exists",
            f"There is a branch named {branch.name} already. Choose another name.",
            field="name",
        ) from failure
    return branch


def _checked(name: str, state: str, fields: dict[str, Any]) -> dict[str, Any]:
    unknown = set(fields) - COLUMNS
    if unknown:
        raise TypeError(f"a branch has no {', '.join(sorted(unknown))}")
    values: dict[str, Any] = {
        "name": line(name, field="name", label="Name", most=120),
        "state": state_code(state),
    }
    for column, value in fields.items():
        values[column] = _column(column, value)
    return values


def _column(column: str, value: Any) -> Any:
    if column in LINES:
        label, most = LINES[column]
        return line(value, field=column, label=label, most=most, needed=False)
    if column in PHONES:
        return to_e164(value, column)
    if column == "zip_code":
        return zip_line(value) if value.strip() else ""
    if column == "time_zone":
        return one_of(value, TIME_ZONES, field=column, label="Time zone")
    if column == "units":
        return one_of(value, Branch.Units.values, field=column, label="Units")
    return value
