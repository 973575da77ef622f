"""The answer of check and mix by plain SQL and plain arithmetic, nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import connection

MM2_PER_SQ_FT = Decimal("92903.04")
UL_PER_FL_OZ = Decimal("29573.5295625")
SQ_FT_PER_ACRE = Decimal(43560)

_ZONES = """
SELECT z.id, z.name, z.place, z.area_mm2, p.state
FROM sites_treatablezone z JOIN sites_property p ON p.id = z.property_id
WHERE z.id IN ({marks}) ORDER BY z.id
"""
_DIRECTION = """
SELECT u.rate_max, u.gallons_per_1000, u.min_interval_days, u.uses_per_year, u.places, u.methods,
       v.product_id, v.effective_on, i.pounds_per_gallon, l."limit"
FROM treatments_labeluse u
JOIN treatments_labelversion v ON v.id = u.label_version_id
JOIN treatments_productingredient i ON i.product_id = v.product_id
JOIN treatments_labellimit l ON l.label_version_id = v.id
WHERE u.id = %s
"""
_HISTORY = """
SELECT a.zone_id, r.applied_on, a.area_mm2, r.area_mm2, r.product_ul
FROM treatments_treatedarea a
JOIN treatments_applicationrecord r ON r.id = a.record_id
JOIN treatments_labelversion v ON v.id = r.label_version_id
WHERE a.zone_id IN ({marks}) AND v.product_id = %s AND r.applied_on BETWEEN %s AND %s
"""
_LICENSE = """
SELECT 1 FROM accounts_applicatorlicense
WHERE person_id = %s AND state = %s AND expires_on >= %s
"""


@dataclass(frozen=True)
class Answer:
    """The numbers a technician sees before mixing."""

    is_allowed: bool
    product_fl_oz: Decimal
    finished_gal: Decimal
    days_since: dict[str, int]
    number_of_use: dict[str, int]
    lb_per_acre: Decimal


def floor(zone_ids: list[int], use_id: int, person_id: int, on: date) -> Answer:
    """Read four statements and add up."""
    marks = ", ".join(["%s"] * len(zone_ids))
    with connection.cursor() as cursor:
        cursor.execute(_ZONES.format(marks=marks), zone_ids)
        zones = cursor.fetchall()
        cursor.execute(_DIRECTION, [use_id])
        direction = cursor.fetchone()
        begins = min(date(on.year, 1, 1), date.fromordinal(on.toordinal() - direction[2]))
        cursor.execute(_HISTORY.format(marks=marks), [*zone_ids, direction[6], begins, on])
        history = cursor.fetchall()
        cursor.execute(_LICENSE, [person_id, zones[0][4], on])
        licensed = cursor.fetchone() is not None
    return _added_up(zones, direction, history, licensed, on)


def _added_up(zones, direction, history, licensed: bool, on: date) -> Answer:  # type: ignore[no-untyped-def]
    rate, gallons, interval, most, places, methods, _, effective, pounds, limit = direction
    rate, gallons, pounds, limit = (Decimal(str(one)) for one in (rate, gallons, pounds, limit))
    days = {row[0]: _day(row[1]) for row in sorted(history, key=lambda row: str(row[1]))}
    area = sum(row[3] for row in zones) / MM2_PER_SQ_FT
    product = area / 1000 * rate * Decimal("0.95")
    this_year = [row for row in history if _day(row[1]).year == on.year]
    used = sum(
        Decimal(ul) / UL_PER_FL_OZ / 128 * pounds * part / whole
        for _, _, part, whole, ul in this_year
    )
    per_acre = (used + product / 128 * pounds) * SQ_FT_PER_ACRE / area
    since = {row[1]: (on - days[row[0]]).days for row in zones}
    counts = {row[1]: 1 + sum(one[0] == row[0] for one in this_year) for row in zones}
    fits = all(row[2] in places for row in zones) and "perimeter_band" in methods
    in_time = min(since.values()) >= interval and max(counts.values()) <= most
    return Answer(
        is_allowed=fits and in_time and licensed and per_acre <= limit and _day(effective) <= on,
        product_fl_oz=product,
        finished_gal=area / 1000 * gallons,
        days_since=since,
        number_of_use=counts,
        lb_per_acre=per_acre.quantize(limit / 10000).normalize(),
    )


def _day(value: date | str) -> date:
    return date.fromisoformat(value) if isinstance(value, str) else value
