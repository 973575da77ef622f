"""Gaps and the pests they admit, against the limits that were published."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sites.rules.gaps import (
    GAP_PESTS,
    NM_IN,
    WIDEST_NM,
    Gap,
    Shape,
    admitted_by,
    count_seen,
    lets_in_words,
    mesh_opening_nm,
    parse_gap,
    weight_of,
)
from tests.refusing import refusal_of

# (typed, unit, shape, pest, word, source)
PUBLISHED = [
    ("3", "mm", "slit", "lady_beetle", "passes", "Nalepa 2007: 83 % through 3 mm"),
    ("2", "mm", "slit", "lady_beetle", "not shown to pass", "Nalepa 2007: none through 2 mm"),
    ("2.5", "mm", "slit", "lady_beetle", "may pass", "house rule: 1.5 mm under what passes"),
    ("4", "mm", "slit", "stink_bug", "passes", "Chambers 2019: a 4 mm slit passes"),
    ("3", "mm", "slit", "stink_bug", "not shown to pass", "Chambers 2019: none through 3 mm"),
    ("3.1", "mm", "slit", "stink_bug", "may pass", "house rule: 1.5 mm under what passes"),
    ("8", "mm", "hole", "stink_bug", "passes", "Chambers 2020: an 8 mm hole passes"),
    ("7", "mm", "hole", "stink_bug", "may pass", "Chambers 2020: one male through 7 mm"),
    ("6.5", "mm", "hole", "stink_bug", "may pass", "house rule: exactly 1.5 mm under"),
    ("6.499", "mm", "hole", "stink_bug", "not shown to pass", "house rule: more than that"),
    ("6.35", "mm", "hole", "mouse", "passes", "University of Kentucky: 1/4 in"),
    ("1/4", "in", "slit", "mouse", "passes", "University of Kentucky: 1/4 in"),
    ("6.349", "mm", "hole", "mouse", "may pass", "house rule: 1.5 mm under what passes"),
    ("4.849", "mm", "hole", "mouse", "not shown to pass", "house rule: more than that"),
    ("6.35", "mm", "hole", "rat", "not shown to pass", "University of Kentucky: 1/2 in"),
    ("1/2", "in", "hole", "rat", "passes", "University of Kentucky: 1/2 in"),
    ("12", "mm", "hole", "rat", "may pass", "house rule: 1.5 mm under what passes"),
    ("1/16", "in", "slit", "small", "passes", "University of Kentucky: 1/16 in"),
    ("1", "mm", "slit", "small", "may pass", "University of Kentucky: or less"),
    ("3", "mm", "hole", "lady_beetle", "may pass", "published for slits only"),
    ("2", "mm", "hole", "lady_beetle", "not shown to pass", "stopped by a slit of that width"),
]


@pytest.mark.parametrize(("typed", "unit", "shape", "pest", "word", "source"), PUBLISHED)
def test_a_gap_admits_what_was_published(
    typed: str, unit: str, shape: str, pest: str, word: str, source: str
) -> None:
    words = {one.pest.code: one.word for one in admitted_by(parse_gap(typed, unit, shape))}
    assert words[pest] == word, source


def test_what_one_study_saw_stands_beside_the_answer() -> None:
    seen = {one.pest.code: one.note for one in admitted_by(parse_gap("7", "mm", "hole"))}
    assert seen["stink_bug"] == "one male passed a 7 mm hole in the study"


@pytest.mark.parametrize(
    ("typed", "unit", "nm"),
    [
        # 1 in is 25.4 mm exactly (NIST SP 811)
        ("1/4", "in", 6_350_000),
        ("3/16", "in", 4_762_500),
        ("1/64", "in", 396_875),
        ("1 1/4", "in", 31_750_000),
        ("1-1/4", "in", 31_750_000),
        ("0.25", "in", 6_350_000),
        ("4.5", "mm", 4_500_000),
        ("300", "mm", WIDEST_NM),
        (" 0.001 ", "mm", 1_000),
    ],
)
def test_a_measure_is_kept_exactly(typed: str, unit: str, nm: int) -> None:
    assert parse_gap(typed, unit, "slit").nm == nm


@pytest.mark.parametrize(
    ("typed", "unit", "shape"),
    [
        ("0", "mm", "slit"),
        ("0/4", "in", "slit"),
        ("2000", "mm", "slit"),
        ("2", "m", "slit"),
        ("300.001", "mm", "slit"),
        ("1/3", "in", "slit"),
        ("5/4", "in", "slit"),
        ("1/0", "in", "slit"),
        ("-1", "mm", "slit"),
        ("1e2", "mm", "slit"),
        ("1,5", "mm", "slit"),
        ("1/4", "mm", "slit"),
        ("", "mm", "slit"),
        ("a quarter", "in", "slit"),
        ("\u0663", "mm", "slit"),
        ("4", "mm", "crack"),
    ],
)
def test_what_is_no_gap_is_refused_at_its_field(typed: str, unit: str, shape: str) -> None:
    assert refusal_of("gap", parse_gap, typed, unit, shape).facts["field"] == "gap"


@settings(max_examples=50)
@given(st.sampled_from(Shape), st.integers(1, WIDEST_NM), st.integers(1, WIDEST_NM))
def test_a_wider_gap_never_admits_less(shape: Shape, one: int, other: int) -> None:
    rank = {"not shown to pass": 0, "may pass": 1, "passes": 2}
    narrow, wide = sorted((one, other))
    pairs = zip(admitted_by(Gap(shape, narrow)), admitted_by(Gap(shape, wide)), strict=True)
    assert all(rank[a.word] <= rank[b.word] for a, b in pairs)


@settings(max_examples=50)
@given(st.integers(1, WIDEST_NM))
def test_a_hole_never_admits_more_than_a_slit_of_its_width(nm: int) -> None:
    rank = {"not shown to pass": 0, "may pass": 1, "passes": 2}
    pairs = zip(admitted_by(Gap(Shape.SLIT, nm)), admitted_by(Gap(Shape.HOLE, nm)), strict=True)
    assert all(rank[slit.word] >= rank[hole.word] for slit, hole in pairs)


@settings(max_examples=50)
@given(st.integers(0, 20), st.integers(1, 63))
def test_a_ruler_mark_is_the_fraction_of_25_4_mm(whole: int, above: int) -> None:
    expected = (whole + Fraction(above, 64)) * NM_IN
    if expected <= WIDEST_NM:
        typed = f"{whole} {above}/64" if whole else f"{above}/64"
        assert parse_gap(typed, "in", "hole").nm == expected


def test_what_comes_in_is_said_by_answer() -> None:
    assert lets_in_words(parse_gap("6.35", "mm", "hole")) == (
        "Passes: Small ants and spiders, House mouse. May pass: Multicolored Asian lady beetle."
    )
    assert lets_in_words(parse_gap("0.01", "mm", "slit")) == "None is shown to pass."


def test_work_is_ordered_by_pests_let_in_times_how_often_they_were_here() -> None:
    """Counted by hand: a 4 mm slit lets in ants, lady beetles, stink bugs (2 each)."""
    slit, hole = parse_gap("4", "mm", "slit"), parse_gap("1/4", "in", "hole")
    assert weight_of(slit, {}) == 6
    assert weight_of(slit, {"stink_bug": 3}) == 2 + 2 + 2 * 4
    # small passes (2), lady beetle may (1), mouse passes (2); neither stink bug nor rat
    assert weight_of(hole, {}) == 5
    assert weight_of(hole, {"mouse": 4}) == 2 + 1 + 2 * 5


def test_sightings_are_counted_by_size_class() -> None:
    seen = [
        ("Halyomorpha halys", "overwintering"),
        ("Rattus norvegicus", "rodents"),
        ("Mus musculus", "rodents"),
        ("Tetramorium immigrans", "ants"),
        ("", "ants"),
        ("Blattella germanica", "cockroaches"),
    ]
    assert count_seen(seen) == {"stink_bug": 1, "rat": 1, "mouse": 1, "small": 2}


@pytest.mark.parametrize(
    ("meshes", "wire", "mm"),
    # pitch less wire, by hand: 25.4 / 16 - 0.2794 and 25.4 / 20 - 0.2286
    [(16, Fraction(11, 1000), 1_308_100), (20, Fraction(9, 1000), 1_041_400)],
)
def test_a_screen_leaves_its_pitch_less_the_wire(meshes: int, wire: Fraction, mm: int) -> None:
    opening = mesh_opening_nm(meshes, wire)
    assert opening == mm
    words = {one.pest.code: one.word for one in admitted_by(Gap(Shape.HOLE, opening))}
    assert words["lady_beetle"] == "not shown to pass"


def test_every_limit_names_its_source() -> None:
    assert all(one.source and one.keep_under for one in GAP_PESTS)
