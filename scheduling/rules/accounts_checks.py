"""Asking the floors below, before anything is stored, whether they would take each row."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from accounts.refusals import Refused
from accounts.rules.lines import email_line
from accounts.rules.phones import to_e164
from scheduling.rules.accounts_plan import ImportPlan
from scheduling.rules.spreadsheet import AccountRow, Problem
from sites.rules.entries import NewZone
from sites.rules.zone_sizes import zone_size

COLUMN_OF = {
    "wall_run": "wall_run_ft",
    "height_up": "height_up_ft",
    "width_out": "width_out_ft",
    "phone": "phone",
    "email": "email",
}


def zone_of(row: AccountRow, property_id: int, geometry: str = "") -> NewZone:
    """The zone of a row as the floor of the sites takes it."""
    return NewZone(
        property_id=property_id,
        name=row.zone_name,
        place=str(row.zone_place),
        wall_run=str(row.wall_run_ft),
        height_up=str(row.height_up_ft),
        width_out=str(row.width_out_ft),
        geometry=geometry,
        surface=str(row.surface),
        exposure=str(row.exposure),
    )


def refused_rows(plan: ImportPlan) -> Iterator[Problem]:
    """Every row the floors below would refuse, by line and column."""
    for contact in plan.contacts:
        yield from _asked(contact.row, lambda row: (to_e164(row.phone), _email(row)))
    for zone in plan.zones:
        yield from _asked(zone.row, lambda row: zone_size(zone_of(row, 0)))


def _email(row: AccountRow) -> str:
    return email_line(row.email, needed=False)


def _asked(row: AccountRow, ask: Callable[[AccountRow], object]) -> Iterator[Problem]:
    try:
        ask(row)
    except Refused as refused:
        column = COLUMN_OF.get(str(refused.facts.get("field")), "")
        yield Problem(row.line, column, refused.sentence)
