"""The sweep under faults, in short form; `python -m tests.faults sweep` runs the full rounds."""

from __future__ import annotations

import pytest

from tests.faults.sweep import run

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


def test_killed_and_run_twice_at_once_nothing_is_missing_or_double() -> None:
    outcome = run(rounds=4, seed=3, properties=24)
    assert outcome.is_whole, str(outcome)
    assert outcome.windows == 48
    assert outcome.killed >= 1
