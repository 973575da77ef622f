"""The sheet of walls: kept in walking order, bands and corners from it, slips at their field."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.models import AuditEvent, Branch, Person
from accounts.refusals import Refused
from sites.models import OutlineWall, Property, TreatableZone, WaterFeature
from sites.rules.entries import NewZone
from sites.rules.plan_walls import TypedWall
from sites.selectors.outlines import outline_from, walls_of
from sites.selectors.properties import zone_measure
from sites.services.outlines import add_band, add_water, remove_water, set_outline
from sites.services.zones import edit_zone
from tests.accounts.pages import ask, errors, send, words
from tests.factories import make_customer, make_property
from tests.outlines import make_walls, make_water

ELL = (
    ("north wall", "50", "E"),
    ("east wall", "26", "right"),
    ("porch side", "20", "right"),
    ("porch front", "14", "left"),
    ("south wall", "30", "right"),
    ("west wall", "40", "right"),
)
ALL = [name for name, _, _ in ELL]
LENGTHS = {"along": "10", "away": "26.5", "across": "24", "deep": "14"}


@pytest.fixture
def place(branch_ohio: Branch) -> Property:
    """A property of the office's own branch."""
    return make_property(make_customer(branch_ohio), "14 Heron Lane")


def rows(*walls: tuple[str, str, str]) -> list[TypedWall]:
    return [TypedWall(number, *wall) for number, wall in enumerate(walls)]


def band(place: Property, **more: str) -> NewZone:
    given = {"name": "Band", "place": "foundation_wall", "height_up": "3", "width_out": "3"} | more
    return NewZone(property_id=place.pk, wall_run="", **given)


def test_the_sheet_takes_the_place_of_the_one_before(office: Person, place: Property) -> None:
    set_outline(property_id=place.pk, unit="m", rows=rows(("old", "9", "N")), by=office)
    set_outline(property_id=place.pk, unit="ft", rows=rows(*ELL), by=office)
    kept = walls_of(place.pk)
    assert [wall.name for wall in kept] == ALL
    outline = outline_from(kept)
    # 50 x 40 less 20 x 14 ft is 1,720 sq ft; 92,903.04 mm2 a sq ft, corners in whole mm
    assert outline.closes
    assert abs(outline.area_mm2 - 1_720 * Decimal("92903.04")) < 20_000
    assert AuditEvent.objects.filter(act="walls_entered").count() == 2
    set_outline(property_id=place.pk, unit="ft", rows=rows(("", "", "")), by=office)
    assert walls_of(place.pk) == []


def test_a_band_has_the_corners_of_its_walls(office: Person, place: Property) -> None:
    """Six walls: 5 outside corners, 1 inside; rounded 5 pi/4 - 1 = 2.926991 out²."""
    set_outline(property_id=place.pk, unit="ft", rows=rows(*ELL), by=office)
    plain = add_band(zone=band(place), walls=ALL, by=office)
    assert zone_measure(plain).sentence == "180 ft × (3 up + 3 out) = 1,080 sq ft"
    assert [run.name for run in plain.runs.all()] == ALL
    squared = add_band(zone=band(place, name="B", corners="square"), walls=ALL, by=office)
    assert squared.corner_factor == "4"
    assert zone_measure(squared).area.value == 1_116
    rounded = add_band(zone=band(place, name="C", corners="rounded"), walls=ALL, by=office)
    assert rounded.corner_factor == "2.926991"
    assert zone_measure(rounded).area.value == 1_080 + Decimal("2.926991") * 9
    rounded.refresh_from_db()
    assert rounded.area_mm2 == round(Decimal("1106.342919") * Decimal("92903.04"))
    porch = ["porch side", "porch front"]
    inside = add_band(zone=band(place, name="D", corners="square"), walls=porch, by=office)
    # 34 ft × 6, and the inside corner takes one out² away
    assert zone_measure(inside).area.value == 34 * 6 - 9
    assert "- 1 × 3² at the corners" in zone_measure(inside).sentence


def test_a_zone_that_leaves_the_sheet_leaves_its_corners(office: Person, place: Property) -> None:
    make_walls(place)
    zone = add_band(zone=band(place, corners="square"), walls=["north wall"], by=office)
    assert zone.corner_factor == "0" and zone_measure(zone).area.value == 360
    typed = NewZone(place.pk, "Band", "foundation_wall", "60", "3", "3", corners="square")
    edited = edit_zone(zone_id=zone.pk, zone=typed, by=office)
    assert edited.corner_factor == "" and zone_measure(edited).area.value == 396


@pytest.mark.parametrize("walls", [[], ["roof"], ["north wall", "roof"]])
def test_a_band_goes_along_walls_of_the_sheet(
    office: Person, place: Property, walls: list[str]
) -> None:
    make_walls(place)
    with pytest.raises(Refused, match="Tick the walls"):
        add_band(zone=band(place), walls=walls, by=office)
    assert not TreatableZone.objects.exists()


def test_water_is_measured_from_a_wall(office: Person, place: Property) -> None:
    with pytest.raises(Refused, match="no sheet of walls"):
        add_water(property_id=place.pk, name="Pond", wall="x", lengths=LENGTHS, by=office)
    make_walls(place)
    made = add_water(
        property_id=place.pk, name="Pond", wall="east wall", lengths=LENGTHS, by=office
    )
    # 26.5 x 304.8
    assert (made.away, made.away_mm) == ("26.5", 8_077)
    for field, value in (("across", "0"), ("deep", ""), ("away", "-1"), ("along", "far")):
        with pytest.raises(Refused) as refused:
            add_water(
                property_id=place.pk,
                name="Pond",
                wall="east wall",
                lengths=LENGTHS | {field: value},
                by=office,
            )
        assert refused.value.facts["field"] == field
    remove_water(water_id=made.pk, by=office)
    assert not WaterFeature.objects.exists()


def typed(*walls: tuple[str, str, str], **more: str) -> dict[str, str]:
    found = {"unit": "ft", "rows": str(len(walls))}
    for row, wall in enumerate(walls):
        found |= dict(zip((f"{c}_{row}" for c in ("name", "length", "heading")), wall, strict=True))
    return found | more


def test_the_page_keeps_draws_and_grows_without_a_script(office: Person, place: Property) -> None:
    empty = ask(office, "property_walls", place.pk)
    assert empty.content.decode().count('name="name_') == 4
    more = send(office, "property_walls", place.pk, **typed(*ELL, more="1"))
    assert more.content.decode().count('name="name_') == 10
    assert 'value="porch side"' in more.content.decode()
    look = send(office, "property_walls", place.pk, **typed(*ELL, look="1"))
    assert "1,720 sq ft in plan" in words(look) and not OutlineWall.objects.exists()
    # a wall that was forgotten is given the number it follows
    short = (*ELL[:3], *ELL[4:], ELL[3])
    numbers = {f"order_{row}": n for row, n in enumerate(("1", "2", "3", "4", "5", "3"))}
    saved = send(office, "property_walls", place.pk, **typed(*short, **numbers))
    assert saved.headers["Location"] == place.get_absolute_url()
    assert [wall.name for wall in walls_of(place.pk)] == ALL
    assert 'value="right"' in ask(office, "property_walls", place.pk).content.decode()


def test_a_slip_stays_with_what_was_typed(office: Person, place: Property) -> None:
    walls = typed(("north wall", "forty", "E"), ("east wall", "26", "right"))
    for act in ({}, {"look": "1"}):
        answer = send(office, "property_walls", place.pk, **walls, **act)
        assert answer.status_code == 422
        assert "is not a number" in words(answer)
        assert 'value="forty"' in answer.content.decode()
    assert not OutlineWall.objects.exists()
    for rows_typed in ("-4", "99999999", "x", "٣"):
        answer = send(office, "property_walls", place.pk, **walls | {"rows": rows_typed})
        assert answer.status_code == 422


def test_walls_that_do_not_close_are_shown_and_kept(office: Person, place: Property) -> None:
    walls = typed(*ELL[:5], ("west wall", "37", "right"))
    look = send(office, "property_walls", place.pk, **walls, look="1")
    assert "the end is 3 ft south of the beginning" in words(look)
    assert "gap 3 ft" in words(look)
    assert send(office, "property_walls", place.pk, **walls).status_code == 302
    band = {"name": "Band", "walls": "west wall", "height_up": "3", "width_out": "3"}
    picked = {"corners": "simple", "place": "foundation_wall", "surface": "painted"}
    made = send(office, "band_add", place.pk, **band, **picked, exposure="sun")
    assert made.status_code == 302
    assert place.zones.get().wall_run == "37"


def test_the_pages_of_band_and_water_say_what_is_missing(office: Person, place: Property) -> None:
    band = {"name": "Band", "corners": "simple", "place": "foundation_wall", "width_out": "3"}
    answer = send(office, "band_add", place.pk, **band, surface="painted", exposure="sun")
    assert errors(answer) == {"walls": ["Tick the walls this band goes along."]}
    make_walls(place)
    water = make_water(place)
    add = send(office, "water_add", place.pk, name="Creek", wall="west wall", **LENGTHS)
    assert add.status_code == 302 and place.waters.count() == 2
    assert send(office, "water_remove", water.pk).status_code == 302
    assert place.waters.get().name == "Creek"


def test_a_property_out_of_reach_is_not_found(office: Person, branch_penn: Branch) -> None:
    far = make_property(make_customer(branch_penn))
    for page in ("property_walls", "band_add", "water_add"):
        assert ask(office, page, far.pk).status_code == 404
