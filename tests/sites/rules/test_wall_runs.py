"""Wall runs as they are typed; every refusal names its field (house rules, no source)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.wall_runs import NewRun, wall_runs


def read(
    text: str, run: str = "60", geometry: str = "band", unit: str = "ft"
) -> tuple[NewRun, ...]:
    return wall_runs(text, unit=unit, geometry=geometry, run=Decimal(run), most=Decimal(1000))


def test_runs_are_read_one_a_line() -> None:
    # 40 ft x 304.8 mm
    assert read("north wall 40\n\n garage side, 20 ft \n") == (
        NewRun("north wall", "40", 12_192),
        NewRun("garage side", "20", 6_096),
    )
    assert read("a 1.5\nb 1.5", "3", unit="m")[0].length_mm == 1_500


@pytest.mark.parametrize("geometry", ["count", "volume", "surface"])
def test_nothing_typed_is_no_run_for_any_zone(geometry: str) -> None:
    assert read("  \n", geometry=geometry) == ()
    with pytest.raises(Refused, match="Only a band or a length"):
        read("north 60", geometry=geometry)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("north wall 40\neast 10", "add up to 50 ft"),
        ("north wall", "is not a number"),
        ("north", "is no run"),
        ("north -60", "below zero"),
        ("north 0\neast 60", "has no length"),
        ("north 30\nNorth 30", "same name"),
        ("x" * 61 + " 60", "60 letters"),
        ("\n".join(f"run{n} 1" for n in range(60)), "at most 20 runs"),
    ],
)
def test_what_cannot_be_is_refused(text: str, words: str) -> None:
    with pytest.raises(Refused, match=words) as found:
        read(text)
    assert found.value.facts["field"] == "runs"


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = read(text)
    except Refused:
        return
    assert not found or sum(Decimal(one.length) for one in found) == 60
