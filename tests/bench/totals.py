"""Annual totals over many records beside the plain SQL that gives the same sums.

The records are copies of ten real ones, written by one INSERT ... SELECT a portion into the
guarded tables as they are (a guard refuses changes, not new rows): other days, amounts, counties
and ZIP codes, one treated area each or two, one in 499 corrected by an entry in its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from django.db import connection

from accounts.models import Person
from accounts.permissions import Role
from sites.models import TreatableZone
from tests.bench.floors.totals import Key, Sums, by_month_and_county, by_place, by_zip
from tests.bench.timing import Compared, compare
from tests.factories import (
    make_branch,
    make_customer,
    make_label,
    make_person,
    make_product,
    make_property,
    make_record,
    make_zone,
)
from treatments.models import ActiveIngredient, ApplicationRecord, ProductIngredient
from treatments.rules.totals import Axis, Cell, Tally
from treatments.rules.totals_log import Scope
from treatments.rules.use_reports import Report, year_of
from treatments.selectors.totals import totals_of
from treatments.selectors.use_papers import Wanted, gather

PRODUCTS, COUNTIES, ZIPS, DAYS = 10, 7, 40, 365
AT_ONCE = 100_000
CORRECTED = 499
NOW = datetime(2026, 12, 31, 20, tzinfo=UTC)
SERIES = {
    "postgresql": "generate_series({first}, {last}) AS s(g)",
    "sqlite": "(WITH RECURSIVE c(g) AS (SELECT {first} UNION ALL SELECT g + 1 FROM c "
    "WHERE g < {last}) SELECT g FROM c) s",
}
UUID = {"postgresql": "gen_random_uuid()", "sqlite": "lower(hex(randomblob(16)))"}
DAY = {
    "postgresql": "DATE '2026-01-01' + s.g % {days}",
    "sqlite": "date('2026-01-01', '+' || (s.g % {days}) || ' days')",
}
Answer = dict[Key, Sums]


def records(size: int) -> Scope:
    """A branch with that many records in 2026, and the scope of all of them."""
    branch = make_branch("Many records")
    technician = make_person([Role.TECHNICIAN], branch)
    zones = _zones(technician)
    first = _templates(zones[0], technician)
    last = first + PRODUCTS - 1
    for begin in range(PRODUCTS, size, AT_ONCE):
        _copy(first, begin, min(begin + AT_ONCE, size) - 1)
    _correct(last, make_person([Role.MANAGER], branch).pk, technician.pk)
    _treat(last, zones)
    if connection.vendor == "postgresql":
        _run("ANALYZE")
    return Scope(frozenset({branch.pk}), date(2026, 1, 1), date(2026, 12, 31))


def _zones(technician: Person) -> tuple[TreatableZone, TreatableZone]:
    place = make_property(make_customer(technician.branch))
    return make_zone(place, "Wall"), make_zone(place, "Soil", place="soil_band")


def _templates(zone: TreatableZone, technician: Person) -> int:
    """Ten records of ten products, half of them dry; the key of the first."""
    rows = [_template(zone, technician, number) for number in range(PRODUCTS)]
    return rows[0].pk


def _template(zone: TreatableZone, technician: Person, number: int) -> ApplicationRecord:
    product = make_product(f"Demonstration many {number}", registration_number=f"99999-1{number}0")
    ProductIngredient.objects.create(
        product=product,
        ingredient=ActiveIngredient.objects.create(common_name=f"demomany {number}"),
        percent_by_weight=Decimal("7.9"),
        pounds_per_gallon=Decimal("0.666667"),
    )
    is_dry = number % 2 == 0
    return make_record(
        zone, technician, make_label(product), applied_on=date(2026, 1, 1), zip_code="43000",
        county="County 0", registration_number=product.registration_number,
        product_ul=None if is_dry else 1000, product_mg=1000 if is_dry else None,
    )  # fmt: skip


def _copy(template: int, first: int, last: int) -> None:
    made = {
        "client_ref": UUID[connection.vendor],
        "applied_on": DAY[connection.vendor].format(days=DAYS),
        "county": f"'County ' || (s.g % {COUNTIES})",
        "zip_code": f"CAST(43000 + s.g % {ZIPS} AS varchar(10))",
        "product_ul": "CASE WHEN t.product_ul IS NULL THEN NULL ELSE 500 + s.g % 90000 END",
        "product_mg": "CASE WHEN t.product_mg IS NULL THEN NULL ELSE 700 + s.g % 80000 END",
    }
    series = SERIES[connection.vendor].format(first=first, last=last)
    _insert(made, f"{series} JOIN {_table()} t ON t.id = {template} + s.g % {PRODUCTS}")


def _correct(after: int, approved_by: int, by: int) -> None:
    """An entry in the place of one record in 499, with a unit more."""
    made = {
        "client_ref": UUID[connection.vendor],
        "entry": "'correction'",
        "corrects_id": "t.id",
        "approved_by_id": str(approved_by),
        "created_by_id": str(by),
        "product_ul": "t.product_ul + 1",
    }
    _insert(made, f"{_table()} t WHERE t.id > {after} AND t.id % {CORRECTED} = 0")


def _insert(made: dict[str, str], rows: str) -> None:
    """Copies of records, with these columns said anew."""
    names = [one.column for one in ApplicationRecord._meta.concrete_fields if not one.primary_key]
    values = ", ".join(made.get(name, f"t.{name}") for name in names)
    _run(f"INSERT INTO {_table()} ({', '.join(names)}) SELECT {values} FROM {rows}")


def _treat(after: int, zones: tuple[TreatableZone, TreatableZone]) -> None:
    """The wall of every record, the soil as well of every third."""
    for zone, part in zip(zones, (1, 3), strict=True):
        _run(
            "INSERT INTO treatments_treatedarea (record_id, zone_id, zone_name, place, size, "
            "size_unit, area_mm2, length_mm, height_up_mm, width_out_mm) SELECT r.id, "
            f"{zone.pk}, '{zone.name}', '{zone.place}', '600', 'ft2', 1000, 0, 0, 0 "
            f"FROM {_table()} r WHERE r.id > {after} AND r.id % {part} = 0"
        )


def _table() -> str:
    return ApplicationRecord._meta.db_table


def _run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def _sums(tally: Tally) -> Sums:
    return tally.records, tally.by_volume, tally.by_mass, tally.ul, tally.mg


def _product(cell: Cell) -> Key:
    return cell.branch_id, cell.product.name, cell.product.registration_number


def months(scope: Scope) -> Answer:
    """Our totals by month and county."""
    cells = totals_of(scope, (Axis.MONTH, Axis.COUNTY)).cells
    return {(*cell.group, *_product(cell)): _sums(cell.tally) for cell in cells}


def places(scope: Scope) -> Answer:
    """Our totals by place, with the words turned back into the floor's two places."""
    wall, soil = "foundation_wall", "soil_band"
    words = {
        "Foundation wall": (wall, wall),
        "Foundation wall and soil band together": (wall, soil),
    }
    cells = totals_of(scope, (Axis.PLACE,)).cells
    return {(*words[cell.group[0]], *_product(cell)): _sums(cell.tally) for cell in cells}


def annual(scope: Scope) -> Answer:
    """The annual report, with its records without amount and strengths, but not its log."""
    (branch_id,) = scope.branches
    wanted = Wanted(Report.ANNUAL, year_of(2026), branch_id=branch_id)
    found = gather(wanted, None, now=NOW, demo=True, compare=False)
    return {
        (*cell.group, *_product(replace(cell, branch_id=branch_id))): _sums(cell.tally)
        for cell in found.cells
    }


def run(*, times: int, size: int = 20_000) -> Iterator[Compared | str]:
    """Compare each total with plain SQL for the same sums; `size` records, 2,000,000 in earnest."""
    scope = records(size)
    (branch_id,) = scope.branches
    asked = branch_id, scope.since, scope.until
    yield f"{ApplicationRecord.objects.count():,} records"
    pairs = (
        ("totals by month and county", months, by_month_and_county),
        ("annual report by registration number and ZIP", annual, by_zip),
        ("totals by place", places, by_place),
    )
    for name, ours, floor in pairs:
        yield compare(
            name, lambda ours=ours: ours(scope), lambda floor=floor: floor(*asked), times=times
        )  # fmt: skip
