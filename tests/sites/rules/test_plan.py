"""The plan's geometry against plane geometry: shoelace, angles at corners, offsets of polygons."""

from __future__ import annotations

from decimal import Decimal
from itertools import combinations
from math import isclose, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from accounts.refusals import Refused
from sites.rules.measurements import band_area, rectangle_perimeter
from sites.rules.places import Corners
from sites.rules.plan_bands import chains, corner_factor, hatch, ring_area, strip
from sites.rules.plan_labels import Box, Label, place_labels
from sites.rules.plan_outline import Outline, Wall, crosses
from sites.rules.plan_walls import TypedWall, gap_words, heading_of, outline_of, read_walls

FOOT = Decimal("304.8")
sides = st.integers(2_000, 60_000)
outs = st.integers(1, 900)


def walk(*steps: tuple[int, float]) -> Outline:
    """An outline of lengths in mm and headings in degrees; walls are named 0, 1, 2."""
    return Outline(tuple(Wall(str(n), mm, round(deg * 10)) for n, (mm, deg) in enumerate(steps)))


def box(width: int, depth: int) -> Outline:
    return walk((width, 90), (depth, 180), (width, 270), (depth, 0))


def ell(width: int, depth: int, cut: int) -> Outline:
    """A box with a square of `cut` taken out of its south-east corner."""
    return walk(
        (width, 90), (depth - cut, 180), (cut, 270), (cut, 180), (width - cut, 270), (depth, 0)
    )


def mirrored(outline: Outline) -> Outline:
    return Outline(tuple(Wall(w.name, w.length_mm, -w.heading % 3_600) for w in outline.walls))


def everywhere(outline: Outline) -> range:
    return range(len(outline.walls))


def drawn(outline: Outline, positions: range | set[int], out: int, corners: Corners) -> float:
    """The area of the strips along some walls as they are drawn."""
    total = 0.0
    for chain in chains(outline, positions):
        outer, *inner = strip(outline, chain, out, corners)
        total += abs(ring_area(outer) - sum(ring_area(ring) for ring in inner))
    return total


# each figure's area by hand (shoelace), its perimeter, and the squared-corner factor: sum of
# tan(turn / 2) over outside corners less inside ones
FIGURES = [
    ("box 40 x 26", box(40_000, 26_000), 1_040_000_000, 132_000, "4"),
    # 50 x 40 less 20 x 14 is 1,720
    (
        "the house of 180 ft in 6 runs",
        walk((50, 90), (26, 180), (20, 270), (14, 180), (30, 270), (40, 0)),
        1_720,
        180,
        "4",
    ),
    # 3-4-5 triangle: tan of half of 90, 126.9 and 143.1 degrees: 1 + 2 + 3
    ("triangle", walk((30_000, 90), (50_000, 216.9), (40_000, 0)), 600_000_000, 120_000, "6"),
]


@pytest.mark.parametrize(("name", "outline", "area", "perimeter", "squared"), FIGURES)
def test_known_figures(
    name: str, outline: Outline, area: int, perimeter: int, squared: str
) -> None:
    assert outline.perimeter_mm == perimeter, name
    assert abs(outline.area_mm2 - area) <= area * 0.002
    found = corner_factor(outline, everywhere(outline), Corners.SQUARE)
    assert abs(found - Decimal(squared)) < Decimal("0.01")
    assert corner_factor(outline, everywhere(outline), Corners.SIMPLE) == 0
    assert mirrored(outline).area_mm2 == outline.area_mm2
    assert corner_factor(mirrored(outline), everywhere(outline), Corners.SQUARE) == found


def test_the_house_band_is_what_the_zone_is() -> None:
    """576 + 504 sq ft: a mitred strip of 3 ft outside and one of 3 ft folded inside, 1,080 in all.

    180 ft × 3 ± 4 × 3²; together 180 × (3 + 3), the simple band.
    """
    house = walk((50, 90), (26, 180), (20, 270), (14, 180), (30, 270), (40, 0))
    assert drawn(house, everywhere(house), 3, Corners.SQUARE) == pytest.approx(576)
    assert drawn(house, everywhere(house), -3, Corners.SQUARE) == pytest.approx(504)
    assert band_area(Decimal(180), Decimal(3), Decimal(3)) == 1_080


@settings(max_examples=40)
@given(sides, sides, outs, st.sampled_from([Corners.SQUARE, Corners.ROUNDED]))
def test_bands_of_rectangles_are_those_of_the_measurements(
    width: int, depth: int, out: int, corners: Corners
) -> None:
    house = box(width, depth)
    assert house.closes and house.area_mm2 == width * depth
    run = rectangle_perimeter(Decimal(width), Decimal(depth))
    assert house.perimeter_mm == run
    exact = band_area(run, Decimal(0), Decimal(out), corners)
    factor = corner_factor(house, everywhere(house), corners)
    assert band_area(run, Decimal(0), Decimal(out), corners, factor) == pytest.approx(exact)
    # an arc is drawn of chords of 6 degrees at most: less than one in 500 too small
    corner = float(exact) - float(run) * out
    shown = drawn(house, everywhere(house), out, corners)
    assert abs(shown - float(exact)) <= corner / 500 + 1


@settings(max_examples=40)
@given(sides, sides, st.integers(1_000, 1_900), outs)
def test_an_inside_corner_takes_its_overlap_away(
    width: int, depth: int, cut: int, out: int
) -> None:
    house = ell(width, depth, cut)
    assert house.closes and house.area_mm2 == width * depth - cut * cut
    rounded = corner_factor(house, everywhere(house), Corners.ROUNDED)
    assert isclose(float(rounded), 5 * pi / 4 - 1, abs_tol=1e-6)
    run = Decimal(house.perimeter_mm)
    squared = corner_factor(house, everywhere(house), Corners.SQUARE)
    exact = band_area(run, Decimal(0), Decimal(out), Corners.SQUARE, squared)
    assert drawn(house, everywhere(house), out, Corners.SQUARE) == pytest.approx(float(exact))


def test_a_part_of_the_walls_has_the_corners_between_them() -> None:
    house = ell(20_000, 15_000, 6_000)
    # 5 and 0 meet at an outside corner; the inside corner is the one between 2 and 3
    assert chains(house, {0, 5, 3}) == [(5, 0), (3,)]
    assert corner_factor(house, {0, 5, 3}, Corners.SQUARE) == 1
    assert corner_factor(house, {2, 3}, Corners.SQUARE) == -1
    assert corner_factor(house, {0, 2}, Corners.ROUNDED) == 0
    shown = drawn(house, {0, 5, 3}, 1_000, Corners.SQUARE)
    assert shown == pytest.approx((20_000 + 15_000 + 6_000) * 1_000 + 1_000**2)


def test_what_does_not_close_is_named_and_can_be_used() -> None:
    open_walk = walk((12_192, 90), (6_096, 180), (9_144, 270))
    assert not open_walk.closes
    # 40 - 30 = 10 ft east, 20 ft south: 22.36 ft
    assert open_walk.gap_mm == round(304.8 * 500**0.5)
    assert gap_words(open_walk, "ft").startswith(
        "The walls do not close: the end is 22.4 ft south-east of the beginning."
    )
    assert corner_factor(open_walk, {0, 1, 2}, Corners.SQUARE) == 2
    assert open_walk.area_mm2 > 0 and gap_words(box(3_000, 4_000), "ft") == ""
    assert "Fewer than three" in gap_words(walk((3_000, 0)), "m")
    assert Outline(()).points == ((0, 0),) and gap_words(Outline(()), "ft") == ""


def test_walls_that_cross_are_named() -> None:
    knot = walk((10_000, 90), (5_000, 180), (5_000, 270), (9_000, 0))
    assert knot.crossing == ("0", "3")
    assert box(5_000, 4_000).crossing is None
    assert not crosses((0, 0), (4, 0), (4, 0), (8, 3))  # they only touch


@pytest.mark.parametrize(
    ("typed", "before", "tenths"),
    [
        ("90", None, 900),
        ("360", None, 0),
        ("22.5 °", None, 225),
        ("E", None, 900),
        ("North-West", None, 3_150),
        ("left 90", 900, 0),
        ("right", 2_700, 0),
        ("Left  45", 0, 3_150),
        ("right 180", 900, 2_700),
    ],
)
def test_headings(typed: str, before: int | None, tenths: int) -> None:
    assert heading_of(typed, before) == tenths


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "is no heading"),
        ("-90", "is no heading"),
        ("NaN", "is no heading"),
        ("90.55", "is no heading"),
        ("361", "more than 360"),
        ("left 200", "cannot turn"),
        ("around", "is no heading"),
        ("٩٠", "is no heading"),
    ],
)
def test_headings_that_are_refused(typed: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        heading_of(typed, None)


def rows(*walls: tuple[str, str, str]) -> list[TypedWall]:
    return [TypedWall(n, *wall) for n, wall in enumerate(walls)]


def test_the_sheet_is_read_in_walking_order() -> None:
    typed = rows(("North  wall", "40", "E"), ("", " ", ""), ("east wall", "20.5", "right"))
    first, second = read_walls(typed, "ft")
    assert (first.name, first.length_mm, first.heading_tenths) == ("North wall", 12_192, 900)
    assert (second.length, second.heading, second.heading_tenths) == ("20.5", "right", 1_800)
    assert outline_of([first, second]).perimeter_mm == 12_192 + 6_248  # 20.5 ft is 6,248.4 mm
    assert read_walls(rows(("", "", "")), "m") == ()


@pytest.mark.parametrize(
    ("walls", "field"),
    [
        ([("", "40", "E")], "name_0"),
        ([("n" * 61, "40", "E")], "name_0"),
        ([("north", "40", "E"), ("NORTH", "4", "S")], "name_1"),
        ([("north", "", "E")], "length_0"),
        ([("north", "0", "E")], "length_0"),
        ([("north", "0.000001", "E")], "length_0"),
        ([("north", "-4", "E")], "length_0"),
        ([("north", "10001", "E")], "length_0"),
        ([("north", "40", "left 90")], "heading_0"),
        ([("north", "40", "E"), ("east", "4", "left 181")], "heading_1"),
    ],
)
def test_a_slip_is_named_at_its_field(walls: list[tuple[str, str, str]], field: str) -> None:
    with pytest.raises(Refused) as refused:
        read_walls(rows(*walls), "ft")
    assert refused.value.facts["field"] == field


def test_a_sheet_has_an_end() -> None:
    with pytest.raises(Refused, match="at most 20 walls"):
        read_walls(rows(*((str(n), "4", "E") for n in range(21))), "ft")


def test_hatch_lines_fill_a_square_and_leave_its_hole() -> None:
    outer, hole = ((0, 0), (0, 100), (100, 100), (100, 0)), ((40, 0), (40, 100), (60, 100), (60, 0))
    for slope in (-1, 0, 1):
        assert hatch([outer], 10, slope)
    level = hatch([outer, hole], 10, 0)
    # ten lines, each in two pieces of 40
    assert [round(b[0] - a[0]) for a, b in level] == [40] * 20


words = st.lists(st.text("abcdefgh 0123", min_size=1, max_size=16), min_size=1, max_size=3)
spots = st.tuples(st.integers(0, 340), st.integers(0, 300))


@settings(max_examples=40)
@given(st.lists(st.tuples(words, spots), max_size=9), st.lists(spots, max_size=4))
def test_labels_never_overlap(
    wanted: list[tuple[list[str], tuple[int, int]]], corners: list[tuple[int, int]]
) -> None:
    frame = Box(0, 0, 340, 300)
    taken = [Box(x, y, 60, 40) for x, y in corners]
    labels = [Label(tuple(lines), *spot) for lines, spot in wanted]
    found = [one for one in place_labels(labels, taken, frame) if one is not None]
    assert not any(a.overlaps(b) for a, b in combinations([*found], 2))
    assert not any(a.overlaps(b) for a in found for b in taken)
    assert all(frame.holds(one) for one in found)
    if labels and not taken:
        assert found  # an empty frame has room for the first one


def test_a_label_without_room_says_so() -> None:
    label = Label(("1,080 sq ft",), 10, 10)
    assert place_labels([label], [Box(0, 0, 100, 100)], Box(0, 0, 100, 100)) == (None,)
