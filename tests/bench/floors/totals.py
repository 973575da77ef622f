"""Totals by plain SQL and nothing else."""

from __future__ import annotations

from datetime import date

from django.db import connection

Key = tuple[object, ...]
Sums = tuple[int, int, int, int, int]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_TOTALS = """
SELECT {axes}, r.branch_id, r.product_name, r.registration_number,
       count(*), count(r.product_ul), count(r.product_mg), sum(r.product_ul), sum(r.product_mg)
FROM treatments_applicationrecord r {joins}
WHERE r.branch_id = %s AND r.applied_on BETWEEN %s AND %s AND r.entry <> 'void'
  AND NOT EXISTS (SELECT 1 FROM treatments_applicationrecord l WHERE l.corrects_id = r.id)
GROUP BY {axes}, r.branch_id, r.product_name, r.registration_number
"""
_MONTH = {"postgresql": "date_trunc('month', r.applied_on)", "sqlite": "substr(r.applied_on, 1, 7)"}
_PLACES = """
JOIN (SELECT record_id, min(place) place, max(place) other FROM treatments_treatedarea
      GROUP BY record_id) a ON a.record_id = r.id
"""


def by_month_and_county(branch_id: int, since: date, until: date) -> dict[Key, Sums]:
    """Sums by month, county with state, branch and product."""
    axes = f"{_MONTH[connection.vendor]}, r.county, r.state"
    return {
        (_month(month), f"{county}, {state}", *rest): sums
        for (month, county, state, *rest), sums in _rows(axes, "", branch_id, since, until)
    }


def by_zip(branch_id: int, since: date, until: date) -> dict[Key, Sums]:
    """Sums by ZIP, county with state, branch and product."""
    found = _rows("r.zip_code, r.county, r.state", "", branch_id, since, until)
    return {
        (code, f"{county}, {state}", *rest): sums for (code, county, state, *rest), sums in found
    }


def by_place(branch_id: int, since: date, until: date) -> dict[Key, Sums]:
    """Sums by place, where no record has more than two."""
    found = _rows("a.place, a.other", _PLACES, branch_id, since, until)
    return {(one, other, *rest): sums for (one, other, *rest), sums in found}


def _rows(
    axes: str, joins: str, branch_id: int, since: date, until: date
) -> list[tuple[list[object], Sums]]:
    with connection.cursor() as cursor:
        cursor.execute(_TOTALS.format(axes=axes, joins=joins), [branch_id, since, until])
        return [(list(row[:-5]), _whole(row[-5:])) for row in cursor.fetchall()]


def _whole(sums: tuple[int | None, ...]) -> Sums:
    one, two, three, four, five = (int(number or 0) for number in sums)
    return one, two, three, four, five


def _month(month: object) -> str:
    year, number = str(month)[:4], int(str(month)[5:7])
    return f"{MONTHS[number - 1]} {year}"
