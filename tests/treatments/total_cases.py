"""Records for totals: with a leaf, or bare by the dozen, and their sums row by row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from datetime import date, timedelta
from itertools import product
from typing import Any

from accounts.models import Person
from tests.factories import make_record, make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, TreatedArea
from treatments.rules.totals import Tally
from treatments.rules.totals_log import Scope
from treatments.selectors.payloads import payloads_of
from treatments.services.log import append_leaf
from treatments.services.recording import record_application

YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def scope_of(house: House, **more: Any) -> Scope:
    """The whole of 2026 in the branch of the house."""
    since, until = YEAR
    return Scope(frozenset({house.place.branch_id}), since, until, **more)


def recorded(house: House, days_ago: int, **changes: Any) -> ApplicationRecord:
    """A record made as technicians make them, with its leaf."""
    at = NOW - timedelta(days=days_ago)
    times = {"started_at": at - timedelta(minutes=30), "finished_at": at - timedelta(minutes=10)}
    application = house.application(**times | changes)
    return record_application(application=application, by=house.technician, now=at).record


def followed_by(
    record: ApplicationRecord, entry: str, approved_by: Person, **columns: Any
) -> ApplicationRecord:
    """An entry in the place of another, approved by a second person, with its leaf."""
    area = record.treated_areas.get()
    shared = ("product_name", "registration_number", "county", "product_ul", "product_mg")
    kept = {name: getattr(record, name) for name in shared}
    later = make_record(
        area.zone,
        record.applicator,
        record.label_use,
        entry=entry,
        corrects=record,
        correction_reason="Read the wrong line",
        approved_by=approved_by,
        created_by=record.applicator,
        **{"applied_on": record.applied_on} | kept | columns,
    )
    payload = payloads_of([later.pk])[later.pk]
    append_leaf(
        branch_id=later.branch_id,
        kind=entry,
        payload=payload,
        record=later,
        by=record.applicator,
        now=NOW,
    )
    return later


def many(house: House, other: Person, others_house: House) -> None:
    """Every combination of month, person, county, ZIP and amount, without leaves."""
    amounts: list[dict[str, Any]] = [
        {"product_ul": 47_318},
        {"product_ul": None, "product_mg": 28_350, "product_unit": "oz_wt"},
        {"product_ul": None, "product_amount": ""},
    ]
    counties = (("Franklin", "43085"), ("Delaware", "43015-0001"), ("", "43015"))
    days = (date(2026, 1, 31), date(2026, 4, 1), date(2026, 12, 31), date(2025, 12, 31))
    homes = ((house, house.technician), (others_house, other))
    for day, (home, who), (county, zip_code), amount in product(days, homes, counties, amounts):
        number = home.use.label_version.product.registration_number
        record = make_record(
            home.band,
            who,
            home.use,
            applied_on=day,
            county=county,
            zip_code=zip_code,
            registration_number=number,
            **amount,
        )
        if county == "Franklin":
            _also_soil(record, home)


def _also_soil(record: ApplicationRecord, home: House) -> None:
    zone = make_zone(home.place, place="soil_band")
    TreatedArea.objects.create(
        record=record, zone=zone, zone_name=zone.name, place=zone.place, size="1", size_unit="ft2"
    )


def the_slow_way(
    scope: Scope, word: Callable[[ApplicationRecord], str]
) -> dict[tuple[str, str], Tally]:
    """Totals by one word and product, row by row."""
    found: defaultdict[tuple[str, str], Tally] = defaultdict(Tally)
    rows = ApplicationRecord.objects.prefetch_related("later_entries", "treated_areas")
    for row in rows.select_related("branch", "applicator"):
        is_inside = scope.since <= row.applied_on <= scope.until
        if row.branch_id not in scope.branches or not is_inside:
            continue
        if row.entry == "void" or row.later_entries.all():
            continue
        ul, mg = row.product_ul, row.product_mg
        found[word(row), row.product_name] += Tally(
            1, int(ul is not None), int(mg is not None), ul or 0, mg or 0
        )
    return dict(found)
