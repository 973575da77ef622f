"""What every record asks of the tables, in SQL.

Building these questions anew costs the ORM five to ten times what asking them costs (profiled;
DEVELOPERS.md, "Recording under load"), so they are written down once. They
are read only here; a test compares each with the same question asked through the ORM.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from django.db import connection

from treatments.models import StockPlace
from treatments.rules.wall_runs import NOT_DUE

Row = tuple[Any, ...]
WITHOUT_EFFECT = ("addendum", "correction", "void")  # what they follow has none
_IN_FORCE = f"""NOT EXISTS (
    SELECT 1 FROM treatments_applicationrecord f
    WHERE f.corrects_id = {{record}} AND f.entry IN {WITHOUT_EFFECT})"""

_USES = f"""
SELECT a.zone_id, v.product_id, r.applied_on, a.area_mm2, r.area_mm2, r.product_ul, r.product_mg,
       r.pests, r.method, p.formulation, r.id, r.visit_ref, r.label_use_id, a.size, a.size_unit,
       r.product_amount, r.product_unit, r.finished_ul, r.finished_amount, r.finished_unit
FROM treatments_treatedarea a
JOIN treatments_applicationrecord r ON r.id = a.record_id
JOIN treatments_labelversion v ON v.id = r.label_version_id
JOIN treatments_product p ON p.id = v.product_id
WHERE r.property_id = %s AND r.applied_on BETWEEN %s AND %s AND {_IN_FORCE.format(record="r.id")}
ORDER BY a.id
"""
PESTS = 7  # the one column of JSON among them

_WINDOWS = f"""
SELECT w.id, w.zone_id, w.pest_group, w.treated_area_id, w.historic_id, w.applied_on,
       w.expires_on, o.expires_on,
       EXISTS (SELECT 1 FROM treatments_treatedrun t
               WHERE t.area_id = w.treated_area_id AND t.reason NOT IN ({{not_due}}))
FROM treatments_residualwindow w
LEFT JOIN treatments_treatedarea a ON a.id = w.treated_area_id
LEFT JOIN treatments_windowoverride o ON o.id = (
    SELECT max(id) FROM treatments_windowoverride WHERE window_id = w.id)
WHERE w.zone_id IN ({{zones}}) AND {_IN_FORCE.format(record="a.record_id")}
ORDER BY w.applied_on, w.id
"""

_SIGNED = """sum(CASE WHEN m.to_place_id = m.from_place_id THEN 0
                      WHEN m.to_place_id = %s THEN coalesce(m.ul, m.mg)
                      ELSE -coalesce(m.ul, m.mg) END)"""

_LEFT = f"""
SELECT m.lot_id, CAST({_SIGNED} AS bigint)
FROM treatments_stockmove m
WHERE (m.to_place_id = %s OR m.from_place_id = %s) AND {{lots}}
GROUP BY m.lot_id
"""

# looked for lot by lot, not by going through every move of the place
_LOTS_AT = """
SELECT l.id FROM treatments_productlot l
WHERE l.label_version_id = %s AND (
    EXISTS (SELECT 1 FROM treatments_stockmove m WHERE m.lot_id = l.id AND m.to_place_id = %s)
    OR EXISTS (SELECT 1 FROM treatments_stockmove m WHERE m.lot_id = l.id AND m.from_place_id = %s))
ORDER BY l.received_on, l.id
"""

# by the keys of the truck: a join at either end would go through every move of the firm
_ABOARD = """
SELECT l.id, l.lot_number, l.expires_on, v.id, v.label_date, v.product_id, w.not_to_be_used_after
FROM (
    SELECT m.lot_id, sum(CASE WHEN m.to_place_id IN ({trucks}) AND m.from_place_id IN ({trucks})
                              THEN 0
                              WHEN m.to_place_id IN ({trucks}) THEN coalesce(m.ul, m.mg)
                              ELSE -coalesce(m.ul, m.mg) END) AS amount
    FROM treatments_stockmove m
    WHERE m.to_place_id IN ({trucks}) OR m.from_place_id IN ({trucks})
    GROUP BY m.lot_id) s
JOIN treatments_productlot l ON l.id = s.lot_id
JOIN treatments_labelversion v ON v.id = l.label_version_id
LEFT JOIN treatments_labelwithdrawal w ON w.id = (
    SELECT max(id) FROM treatments_labelwithdrawal WHERE label_version_id = v.id)
WHERE s.amount > 0
ORDER BY l.received_on, l.id
""".format(trucks="SELECT id FROM treatments_stockplace WHERE technician_id = %s")


_DRIVEN = """
SELECT p.* FROM treatments_stockplace p
WHERE p.technician_id = %s AND (p.technician_since IS NULL OR p.technician_since <= %s)
   OR p.id IN (
    SELECT d.place_id FROM treatments_pastdriver d
    WHERE d.technician_id = %s AND (d.since IS NULL OR d.since <= %s) AND d.until > %s)
ORDER BY p.id LIMIT 1
"""


def uses_put_down(property_id: int, first: date, last: date) -> list[Row]:
    """Every zone treated with a product at a property from one day to another, in force.

    Zone, product, day, square mm of zone and record, uL, mg, pests, method, formulation, record,
    visit, direction, size, unit, amount of product as typed, unit, spray in uL, as typed, unit.
    """
    found = _rows(_USES, [property_id, first, last])
    return [(*row[:PESTS], json.loads(row[PESTS]), *row[PESTS + 1 :]) for row in found]


def windows_held(zone_ids: Collection[int]) -> list[Row]:
    """The windows in force of these zones, oldest first.

    Key, zone, group, treated area, historic treatment, day, last day as made and by the office,
    and whether wall runs of the zone were left due.
    """
    if not zone_ids:
        return []
    sql = _WINDOWS.format(not_due=_marks(NOT_DUE), zones=_marks(zone_ids))
    return _rows(sql, [*NOT_DUE, *zone_ids])


def left_at(lot_ids: Collection[int] | None, place_id: int) -> dict[int, int]:
    """Whole uL or mg at a place by lot, of each of these, or of all, that ever came or went."""
    if lot_ids is None:
        return dict(_rows(_LEFT.format(lots="1 = 1"), [place_id] * 3))
    if not lot_ids:
        return {}
    sql = _LEFT.format(lots=f"m.lot_id IN ({_marks(lot_ids)})")
    return dict(_rows(sql, [*[place_id] * 3, *lot_ids]))


def lots_ever_at(place_id: int, label_version_id: int) -> list[int]:
    """Keys of the lots of one label that ever were at a place, oldest first."""
    return [pk for (pk,) in _rows(_LOTS_AT, [label_version_id, place_id, place_id])]


def vehicle_driven(technician_id: int, at: datetime) -> StockPlace | None:
    """What somebody drives now and drove at a moment, or drove then and has handed over since."""
    when = connection.ops.adapt_datetimefield_value(at)
    rows = StockPlace.objects.raw(_DRIVEN, [technician_id, when, technician_id, when, when])
    return next(iter(rows), None)


def lots_on_truck(technician_id: int) -> list[Row]:
    """Every lot of which something is on the technician's truck, the oldest first.

    Key, number, last day, label, its date, product, last day of the label.
    """
    return _rows(_ABOARD, [technician_id] * 5)


def _marks(values: Collection[object]) -> str:
    return ", ".join(["%s"] * len(values))


def _rows(sql: str, params: list[Any]) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        return list(cursor.fetchall())
