"""The benchmark's floor gives the same answer, and the page reads no more for more rows."""

from __future__ import annotations

import pytest

from tests.bench.check_mix import asked, bare, field, queries, said

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_plain_sql_gives_the_same_answer() -> None:
    house = field(zones=12, directions=40, years=5)
    answer = said(asked(house))
    assert answer == bare(house)
    assert answer.is_allowed and len(answer.days_since) == 12


def test_queries_do_not_grow_with_zones_directions_and_years() -> None:
    small, large = field(zones=2, directions=1, years=1), field(zones=12, directions=40, years=5)
    assert queries(lambda: asked(small)) == queries(lambda: asked(large))
