"""From what somebody chose in the address to the report that is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from accounts.selectors.people import branches_for
from treatments.models import ApplicationRecord
from treatments.rules.use_reports import (
    Period,
    Report,
    chosen_axes,
    days_of,
    month_before,
    month_of,
    report_year,
    year_of,
)
from treatments.selectors.records import applicators_used, products_used
from treatments.selectors.use_papers import Wanted

if TYPE_CHECKING:
    from accounts.models import Person

NAMED = ("state", "county", "product", "zip_code")


def defaults(report: Report, today: date) -> dict[str, Any]:
    """What a report is about when nothing is chosen, as values of its form."""
    year, month = month_before(today)
    if report is Report.COUNTY:
        return {"year": year, "month": month}
    if report is Report.TOTALS:
        whole = year_of(report_year(today))
        return {"since": whole.since, "until": whole.until, "by": "", "period": ""}
    return {"year": report_year(today)}


def wanted_report(
    report: Report, said: Mapping[str, Any], today: date, words: Mapping[str, str]
) -> Wanted:
    """The report asked for; `words` say the choices as people read them."""
    chosen = defaults(report, today) | dict(said)
    return Wanted(
        report=report,
        period=_period(report, chosen),
        axes=chosen_axes(chosen.get("period", ""), chosen.get("by", "")),
        branch_id=chosen.get("branch"),
        applicator_id=chosen.get("applicator"),
        about=tuple(words.items()),
        **{name: chosen.get(name, "") for name in NAMED},
    )


def _period(report: Report, chosen: Mapping[str, Any]) -> Period:
    if report is Report.TOTALS:
        return days_of(chosen["since"], chosen["until"])
    if report is Report.COUNTY:
        return month_of(chosen["year"], chosen["month"])
    return year_of(chosen["year"])


def offered_choices(person: Person) -> dict[str, Any]:
    """Everything the forms offer, as far as it stands in records."""
    rows = ApplicationRecord.objects.order_by("state", "county").values_list("state", "county")
    places = list(rows.distinct())
    return {
        "branches": [(one.pk, one.name) for one in branches_for(person).order_by("name")],
        "states": list(dict.fromkeys(state for state, _ in places)),
        "counties": sorted({county for _, county in places if county}),
        "products": products_used(),
        "applicators": applicators_used(),
    }
