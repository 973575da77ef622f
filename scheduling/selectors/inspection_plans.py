"""The drawing of a property for its inspection report."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from scheduling.reports.inspection import Plan
    from sites.models import Property


def plan_of(place: Property, today: date) -> Plan:
    """The drawing of a property that the caller may show; None: none is drawn.

    No plan is kept here yet, so there is none to place; the report says nothing of one.
    """
    del place, today
    return None
