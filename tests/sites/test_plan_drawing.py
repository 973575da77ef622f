"""The drawing of a plan: what it says, on screen and on paper, whatever the walls are."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.renderPDF import drawToString

from sites.reports.plan import plan_svg
from sites.reports.plan_drawing import Drawing, Form, Plan, Words, draw, plan_words
from sites.reports.plan_pdf import plan_paper
from sites.rules.places import Corners, Geometry
from sites.rules.plan_labels import HAND, SCREEN, Box
from sites.rules.plan_outline import Outline, Wall
from sites.rules.plan_parts import (
    Held,
    PlanFinding,
    PlanWater,
    PlanZone,
    spot_on_wall,
    walls_of_zone,
)

FT = 305
HOUSE = Outline((
    Wall("north wall", 50 * FT, 900), Wall("east wall", 26 * FT, 1_800),
    Wall("porch side", 20 * FT, 2_700), Wall("porch front", 14 * FT, 1_800),
    Wall("south wall", 30 * FT, 2_700), Wall("west wall", 40 * FT, 0),
))  # fmt: skip
ALL = tuple(wall.name for wall in HOUSE.walls)


def zone(key: str, walls: tuple[str, ...] = ALL, held: Held = Held.HELD, **more: Any) -> PlanZone:
    left = {Held.HELD: "6 d left", Held.LAPSED: "6 d lapsed", Held.NONE: "no treatment known"}
    given = PlanZone(
        key, "Foundation band", walls, Geometry.BAND, 3 * FT, 3 * FT, Corners.SQUARE,
        "1,116 sq ft", left[held], held,
    )  # fmt: skip
    return replace(given, **more)


ZONES = (
    zone("Z1"),
    zone("Z2", ("porch side", "porch front"), Held.LAPSED, corners=Corners.ROUNDED),
    zone("Z3", ("south wall",), Held.NONE),
    zone("Z4", geometry=Geometry.LINEAR, out_mm=0, up_mm=0),
    zone("Z5", (), geometry=Geometry.COUNT),
)
FOUND = tuple(PlanFinding("Entry point", n, "north wall", n * FT, f"gap {n}") for n in (1, 2, 3))
POND = PlanWater("Fish pond", "east wall", 10 * FT, 26 * FT, 24 * FT, 14 * FT)
PLAN = Plan(HOUSE, ZONES, FOUND, (POND,), "ft", "Plan of 14 Heron Lane")
FORMS: tuple[Form, ...] = ("wide", "narrow", "hand")


def said(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Words)]


@pytest.mark.parametrize("form", FORMS)
def test_every_zone_on_a_wall_is_labelled_with_area_and_days_left(form: Form) -> None:
    texts = said(draw(PLAN, form))
    for one in ZONES[:4]:
        assert any(text.split(" ")[0] == one.key for text in texts)
        assert texts.count(one.size) >= 4
    assert texts.count("6 d left") == 2 and "6 d lapsed" in texts and "no treatment known" in texts
    assert not any(text.startswith("Z5") for text in texts)
    assert {"1", "2", "3", "Fish pond"} <= set(texts)
    # 26 ft from the wall, 23 from the edge of the band; with the phone's face there is no room
    assert ("23 ft" in texts) == (form != "hand")


@pytest.mark.parametrize("form", FORMS)
def test_no_words_stand_on_other_words(form: Form) -> None:
    drawing = draw(PLAN, form)
    face = HAND if form == "hand" else SCREEN
    boxes = []
    for item in drawing.items:
        if isinstance(item, Words):
            width = len(item.text) * (face.small if " s" in item.kind else face.bold) - 1
            x = item.x - width / 2 if item.centered else item.x
            boxes.append((item.text, Box(x, item.y - face.line * 0.7, width, face.line * 0.8)))
            assert x >= 0 and x + width <= drawing.width + 1, item
    clashes = [
        (a, b)
        for n, (a, one) in enumerate(boxes)
        for b, other in boxes[n + 1 :]
        if one.overlaps(other)
    ]
    assert clashes == []


def test_states_differ_by_line_and_filling_not_by_color() -> None:
    def kinds(held: Held) -> set[str]:
        svg = plan_svg(replace(PLAN, zones=(zone("Z1", held=held, up_mm=0),)), form="wide", uid="a")
        return {path.get("class", "") for path in ET.fromstring(svg).iter("path")}

    assert {"l-band", "l-hatch"} <= kinds(Held.HELD)
    assert "l-lapsed" in kinds(Held.LAPSED) and "l-hatch" not in kinds(Held.LAPSED)
    assert "l-bare" in kinds(Held.NONE) and "l-hatch" not in kinds(Held.NONE)


def test_a_strip_around_the_house_leaves_the_house_bare() -> None:
    svg = ET.fromstring(plan_svg(PLAN, form="wide", uid="a"))
    rings = [one for one in svg.iter("path") if one.get("d", "").count("M") == 2]
    around = [one for one in rings if one.get("class") == "l-band"]
    assert [one.get("fill-rule") for one in around] == ["evenodd"]


def test_names_are_escaped_and_said_in_the_description() -> None:
    evil = "<script>&\"'"
    plan = replace(PLAN, title=evil, zones=(zone("Z1", name=evil),))
    svg = plan_svg(plan, form="wide", uid=evil)
    assert "<script>" not in svg
    assert evil in "".join(ET.fromstring(svg).itertext())
    assert plan_words(PLAN).startswith("180.1 ft of wall in 6 runs; 1,722 sq ft in plan; Z1")


def test_a_gap_is_drawn_and_named() -> None:
    open_walk = Outline((*HOUSE.walls[:5], Wall("west wall", 30 * FT, 0)))
    texts = said(draw(replace(PLAN, outline=open_walk), "narrow"))
    assert "gap 10 ft" in texts
    assert "the walls do not close" in plan_words(replace(PLAN, outline=open_walk))


def test_paper_says_what_the_screen_says() -> None:
    paper = plan_paper(PLAN, width=500)
    assert paper.width == 500
    pdf = drawToString(paper)
    assert pdf.startswith(b"%PDF") and len(pdf) > 3_000
    strings = [one.text for one in paper.contents if hasattr(one, "text")]
    assert strings == said(draw(PLAN, "wide"))
    odd = replace(PLAN, zones=(zone("Z1", name="Zone 地 ✓"),))
    assert drawToString(plan_paper(odd, width=500)).startswith(b"%PDF")


walls = st.lists(st.tuples(st.integers(1, 100_000), st.integers(0, 3_599)), min_size=1, max_size=7)


@settings(max_examples=30, deadline=None)
@given(walls, st.integers(0, 5_000), st.sampled_from(list(Corners)))
def test_any_walk_is_drawn(steps: list[tuple[int, int]], out: int, corners: Corners) -> None:
    outline = Outline(tuple(Wall(str(n), *step) for n, step in enumerate(steps)))
    names = tuple(wall.name for wall in outline.walls)
    one = zone("Z1", names, out_mm=out, up_mm=out, corners=corners)
    plan = Plan(outline, (one,), (), (replace(POND, wall="0"),), "m", "Plan")
    root = ET.fromstring(plan_svg(plan, form="narrow", uid="a"))
    numbers = " ".join(path.get("d", "") for path in root.iter("path"))
    assert "nan" not in numbers and "inf" not in numbers
    assert any("Z1" in (text.text or "") for text in root.iter("text"))


@pytest.mark.parametrize(
    ("spot", "found"),
    [
        ("North wall, 12 ft", ("north wall", 3_658)),
        ("south wall", ("south wall", 15 * FT)),
        ("3.5 m along the west wall", ("west wall", 3_500)),
        ("north wall 900 ft", ("north wall", 50 * FT)),
        ("behind the stove", None),
        ("", None),
    ],
)
def test_a_finding_that_names_a_wall_is_there(spot: str, found: tuple[str, int] | None) -> None:
    assert spot_on_wall(spot, HOUSE) == found


def test_a_zone_as_long_as_the_walls_goes_along_all_of_them() -> None:
    assert walls_of_zone((), HOUSE.perimeter_mm, Geometry.BAND, HOUSE) == ALL
    assert walls_of_zone((), HOUSE.perimeter_mm - 300, Geometry.BAND, HOUSE) == ()
    assert walls_of_zone((), HOUSE.perimeter_mm, Geometry.SURFACE, HOUSE) == ()
    assert walls_of_zone(("Front",), 1, Geometry.BAND, HOUSE) == ("Front",)
