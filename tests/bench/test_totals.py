"""The benchmark's floor gives the same sums, and they are what they must be."""

from __future__ import annotations

import pytest

from tests.bench.floors.totals import by_month_and_county, by_place, by_zip
from tests.bench.totals import CORRECTED, annual, months, places, records
from treatments.models import ApplicationRecord

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_plain_sql_gives_the_same_sums() -> None:
    scope = records(1500)
    (branch_id,) = scope.branches
    asked = branch_id, scope.since, scope.until
    assert months(scope) == by_month_and_county(*asked)
    assert annual(scope) == by_zip(*asked)
    assert places(scope) == by_place(*asked)
    corrections = ApplicationRecord.objects.filter(entry="correction").count()
    assert corrections in (1500 // CORRECTED, 1500 // CORRECTED + 1)
    assert sum(records for records, *_ in months(scope).values()) == 1500
    assert len({key[2:] for key in places(scope)}) == 10
