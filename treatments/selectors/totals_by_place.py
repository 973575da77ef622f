"""Totals by place: all places of a record as one number, then grouped like any other axis.

Written in SQL, since an aggregate over an aggregate is beyond the ORM: the records come from the
one read of what counts, their treated areas are folded once a record, so nothing is counted twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import QuerySet

from treatments.models import ApplicationRecord, TreatedArea
from treatments.rules.totals import PLACES, place_bit

PLACE_COLUMN = "places"
# either gives the bits of the different places of a record together
TOGETHER = {"postgresql": "bit_or({bit})", "sqlite": "sum(DISTINCT {bit})"}
# PostgreSQL would else write every record to disk to read it twice (measured: twice as slow)
INLINE = {"postgresql": "NOT MATERIALIZED", "sqlite": ""}
_SQL = """
WITH s({names}) AS {inline} ({records}),
     p(pk, bits) AS (
        SELECT a.record_id, {together} FROM {areas} a
        WHERE a.record_id IN (SELECT pk FROM s) GROUP BY a.record_id)
SELECT {shown}, count(*), count(s.ul), count(s.mg), sum(s.ul), sum(s.mg)
FROM s LEFT JOIN p ON p.pk = s.pk
GROUP BY {shown}
"""


def grouped_with_places(
    records: QuerySet[ApplicationRecord], columns: Sequence[str]
) -> list[tuple[Any, ...]]:
    """Each group of the columns with its five sums; one of them is `places`."""
    others = [name for name in columns if name != PLACE_COLUMN]
    inner = records.order_by().values_list("pk", "product_ul", "product_mg", *others)
    try:
        sql, params = inner.query.sql_with_params()
    except EmptyResultSet:  # no branch, so no record: the ORM does not even ask
        return []
    named = {name: f"k{number}" for number, name in enumerate(others)}
    shown = [f"s.{named[one]}" if one in named else "coalesce(p.bits, 0)" for one in columns]
    statement = _SQL.format(
        names=", ".join(("pk", "ul", "mg", *named.values())),
        inline=INLINE[connection.vendor],
        records=sql,
        together=TOGETHER[connection.vendor].format(bit=_bit()),
        areas=TreatedArea._meta.db_table,
        shown=", ".join(shown),
    )
    with connection.cursor() as cursor:
        cursor.execute(statement, params)
        return list(cursor.fetchall())


def _bit() -> str:
    cases = " ".join(f"WHEN '{place}' THEN {place_bit(place)}" for place in PLACES)
    return f"CASE a.place {cases} ELSE 0 END"
