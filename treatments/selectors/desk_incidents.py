"""The incident file of a question at the desk: what concerns its records, places and days."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from treatments.models import Incident
from treatments.rules.bundles import BundleScope
from treatments.rules.desk import DeskList, counted
from treatments.selectors.desk_records import Histories
from treatments.selectors.incidents import incident_row, incidents_for, with_state
from treatments.selectors.windows import in_portions

if TYPE_CHECKING:
    from accounts.models import Branch

WITHOUT_NAMES = "Whom an incident concerned is not listed here; the page of the incident has it."
HEAD = (
    "Incident", "When", "What", "Where", "Product", "What happened", "Agency notice", "State",
    "Records",
)  # fmt: skip


def incident_list(
    histories: Histories, scope: BundleScope, branch: Branch, now: datetime
) -> DeskList:
    """Incidents of the records found, and those of the days at the places asked for.

    A question by days alone lists every incident of the branch in those days.
    """
    found = _found(histories, scope, branch)
    rows = [_row(with_state(one), now) for one in found]
    still = sum(row[7] == "open" for row in rows)
    return DeskList(
        "incidents",
        "Incidents",
        f"{counted(len(rows), 'incident')}, {still} open" if rows else "none in these days",
        HEAD,
        tuple(rows),
        (WITHOUT_NAMES,) if rows else (),
    )


def _found(histories: Histories, scope: BundleScope, branch: Branch) -> list[Any]:
    keys: set[int] = set()
    for portion in in_portions([entry.pk for chain in histories for entry in chain]):
        about = Incident.objects.filter(branch=branch, concerns__record__in=portion)
        keys |= set(about.values_list("pk", flat=True))
    wanted = Q(pk__in=keys) | Q(pk__in=_of_days(scope, branch, _places(histories, scope)))
    return list(incidents_for(None).filter(wanted).order_by("-happened_at", "-pk"))


def _places(histories: Histories, scope: BundleScope) -> set[int] | None:
    """The properties of the question; None where it is asked by days alone."""
    if scope.property_ids is not None:
        return set(scope.property_ids)
    if not (scope.person_id or scope.product or scope.lot or scope.hours or scope.property_id):
        return None
    return {chain[-1].property_id for chain in histories}


def _of_days(
    scope: BundleScope, branch: Branch, places: Collection[int] | None
) -> QuerySet[Incident]:
    zone = ZoneInfo(branch.time_zone)
    first = datetime.combine(scope.since, time(), zone)
    after = datetime.combine(scope.until + timedelta(days=1), time(), zone)
    rows = Incident.objects.filter(branch=branch, happened_at__gte=first, happened_at__lt=after)
    wanted = Q() if places is None else Q(property__in=places)
    return rows.filter(wanted).order_by()


def _row(incident: Any, now: datetime) -> tuple[str, ...]:
    shown = incident_row(incident, now)
    said = {one.field: one.value for one in incident.personal_values.all()}
    records = ", ".join(str(one.record_id) for one in incident.concerns.all())
    return (
        str(incident.pk),
        shown.when,
        incident.get_kind_display(),
        shown.where or "no longer kept",
        incident.product_name or "not named",
        said.get("what", "no longer kept"),
        shown.reading.words,
        "closed" if shown.is_closed else "open",
        records or "none named",
    )
