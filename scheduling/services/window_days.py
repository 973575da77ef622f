"""Another number of days for one window, and the renewals that stand for it."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from scheduling.models import Renewal, RenewalZone
from scheduling.models.renewals import OPEN_STATES
from scheduling.services.reconcile import date_anew, facts_of_lines
from scheduling.services.sweep import sweep_property
from treatments.services.residual_factors import override_window

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def set_window_days(
    *,
    property_id: int,
    window_id: int,
    days: int,
    reason: str,
    by: Person | None,
    today: date,
    now: datetime,
) -> None:
    """Set the days of one window and date the open renewals of its property by them.

    Refused: what `override_window` refuses. Renewals are locked before the property, as by the
    sweep; a booked visit is not moved.
    """
    rows = Renewal.objects.filter(property=property_id, state__in=OPEN_STATES).order_by("pk")
    renewals = list(rows.select_for_update())
    override_window(window_id=window_id, days=days, reason=reason, by=by, now=now)
    for renewal in renewals:
        lines = RenewalZone.objects.filter(renewal=renewal).select_related("window", "zone")
        found = list(lines.prefetch_related("window__overrides"))
        if any(line.window_id == window_id for line in found):
            date_anew(renewal, facts_of_lines(found, today, but=[renewal.pk]), today)
    sweep_property(property_id=property_id, today=today, now=now, by=by)
