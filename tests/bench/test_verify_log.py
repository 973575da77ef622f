"""The benchmark's floor gives the same root, and what is timed does find a change."""

from __future__ import annotations

import pytest

from tests.bench.floors.verify_log import floor
from tests.bench.verify_log import checked, long_log, recorded, run
from tests.guards_off import behind_the_guards
from treatments.selectors.log import verify, verify_chain

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


@pytest.mark.parametrize("size", [1, 2, 7, 1000])
def test_the_bare_loop_gives_the_same_root(size: int) -> None:
    branch = long_log(size)
    assert checked(branch.pk) == floor(branch.pk)
    assert verify(branch.pk).is_whole


def test_what_is_timed_finds_a_change() -> None:
    branch = long_log(300)
    behind_the_guards("UPDATE treatments_logentry SET leaf_hash = '0' WHERE seq = 211")
    _, found, _ = verify_chain(branch.pk)
    assert found[0].seq == 211


def test_the_records_of_the_bench_agree_with_their_leaves() -> None:
    found = verify(recorded(8).pk)
    assert found.difference == ""
    assert found.size == 8


def test_it_runs_small() -> None:
    said = [str(line) for line in run(times=1, size=50)]
    assert said[0].startswith("50 leaves of ") and "ratio" in said[1]
