"""What is never closed, what stays open, what is asked before; the rules of this house."""

from __future__ import annotations

from datetime import date

import pytest

from sites.rules.gaps import NM_MM
from sites.rules.sealing import (
    CLOSED_SEASONS,
    CLOSES,
    NEVER_SEALED,
    STAYS_OPEN,
    Inside,
    Measure,
    Opening,
    asks_for_animals,
    measures_for,
    refuse_closing,
    refuse_measure,
    seasons_on,
    stays_open_words,
)
from tests.refusing import refusal_of


def test_the_openings_that_keep_people_alive_are_all_there() -> None:
    named = {"combustion_air", "flue", "dryer", "radon", "gas", "relief"}
    assert {one.value for one in NEVER_SEALED} == named


@pytest.mark.parametrize("opening", sorted(NEVER_SEALED))
@pytest.mark.parametrize("measure", sorted(CLOSES))
def test_nothing_that_closes_is_offered_or_taken_there(opening: Opening, measure: Measure) -> None:
    assert measure not in measures_for(opening)
    said = refusal_of("never_sealed", refuse_measure, measure, opening)
    assert said.sentence.startswith("Never close or screen this")


@pytest.mark.parametrize("opening", sorted(STAYS_OPEN))
def test_weep_holes_and_vents_take_mesh_and_are_not_closed(opening: Opening) -> None:
    assert "must stay open" in stays_open_words(opening)
    refuse_measure(Measure.MESH, opening)
    assert "must stay open" in refusal_of("never_sealed", refuse_measure, "seal", opening).sentence


def test_a_plain_gap_takes_every_measure() -> None:
    assert measures_for(Opening.PLAIN) == tuple(Measure)
    assert stays_open_words(Opening.PLAIN) == ""
    assert refusal_of("measure", refuse_measure, "glue", "plain").facts["field"] == "measure"


@pytest.mark.parametrize(
    ("checkpoint", "mm", "measure", "asked"),
    [
        ("eaves", 6, "seal", True),
        ("roof_vents", 6, "screen", True),
        ("attic", 50, "hardware_cloth", True),
        ("eaves", None, "seal", True),  # not measured: asked, to be safe
        ("eaves", 5, "seal", False),
        ("doors", 20, "sweep", False),
        ("eaves", 20, "vegetation", False),
    ],
)
def test_the_question_is_asked_high_up_from_6_mm(
    checkpoint: str, mm: int | None, measure: str, asked: bool
) -> None:
    nm = None if mm is None else mm * NM_MM
    assert asks_for_animals(checkpoint, nm, measure) is asked


def test_only_an_empty_place_is_closed() -> None:
    refuse_closing(Inside.NONE)
    for answer in (Inside.BATS, Inside.BIRDS, Inside.OTHER, Inside.NOT_LOOKED, ""):
        assert refusal_of("live_animals", refuse_closing, answer).facts["field"] == "inside"


@pytest.mark.parametrize(
    ("day", "codes"),
    [
        (date(2026, 4, 30), {"birds_nesting"}),
        (date(2026, 5, 1), {"bats_young", "birds_nesting"}),
        (date(2026, 8, 15), {"bats_young", "birds_nesting"}),
        (date(2026, 8, 16), {"birds_nesting"}),
        (date(2026, 11, 30), set()),
    ],
)
def test_closed_seasons_hold_from_first_to_last_day(day: date, codes: set[str]) -> None:
    assert {one.code for one in seasons_on(day, "OH")} == codes


def test_no_season_is_called_verified_that_nobody_read() -> None:
    assert [one.code for one in CLOSED_SEASONS if one.is_verified] == []
    assert all("unverified" in one.source for one in CLOSED_SEASONS)
