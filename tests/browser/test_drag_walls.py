"""Walls dragged with the mouse: the form follows, and what is saved is what it says."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from sites.models import OutlineWall, Property
from sites.selectors.outlines import outline_from, walls_of
from tests.factories import make_customer, make_property
from tests.outlines import make_walls

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
Axe = Callable[[Page], None]


@pytest.fixture
def place(office: Person) -> Property:
    """A box of 60 by 40 ft whose third wall is said as a turn."""
    place = make_property(make_customer(office.branch), "14 Heron Lane")
    make_walls(place)
    OutlineWall.objects.filter(property=place, position=2).update(heading="right 90")
    return place


def drag(page: Page, what: str, east: float, north: float) -> None:
    """Drag a corner or wall by so many px to the right and up."""
    box = page.locator(what).bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + east / 2, y - north / 2)
    page.mouse.move(x + east, y - north)
    page.mouse.up()


def numbers(page: Page) -> list[tuple[str, str]]:
    return [
        (
            page.locator(f"#id_length_{row}").input_value(),
            page.locator(f"#id_heading_{row}").input_value(),
        )
        for row in range(4)
    ]


def kept(place: Property) -> list[tuple[str, str]]:
    return [(wall.length, wall.heading) for wall in walls_of(place.pk)]


def test_a_wall_dragged_sideways_is_stored_as_the_form_says(
    office: Person, place: Property, page_for: Callable[..., Page], axe: Axe
) -> None:
    page = page_for(office)
    page.goto(f"/properties/{place.pk}/walls/")
    expect(page.locator("figure.drag")).to_be_visible()
    axe(page)
    drag(page, "[data-wall='1']", 60, 5)
    said = numbers(page)
    longer = float(said[0][0])
    # the east wall went out: north and south wall are longer by the same half feet
    assert longer > 60 and (longer * 2).is_integer()
    assert said == [(said[0][0], "90"), ("40", "180"), (said[0][0], "right 90"), ("40", "0")]
    assert kept(place)[0] == ("60", "90")  # nothing is kept before it is saved
    page.get_by_role("button", name="Save the walls").click()
    expect(page.locator("main")).to_contain_text("The walls are kept.")
    assert kept(place) == said
    assert outline_from(walls_of(place.pk)).closes


def test_a_corner_dragged_turns_both_its_walls(
    office: Person, place: Property, page_for: Callable[..., Page]
) -> None:
    page = page_for(office)
    page.goto(f"/properties/{place.pk}/walls/")
    drag(page, "[data-corner='1']", 40, 30)
    said = numbers(page)
    assert said[0] != ("60", "90") and said[1] != ("40", "180") and said[3] == ("40", "0")
    # the wall after it was a turn of the one before, and keeps its heading
    assert said[2] == ("60", "270")
    page.get_by_role("button", name="Save the walls").click()
    expect(page.locator("main")).to_contain_text("The walls are kept.")
    assert kept(place) == said
    assert outline_from(walls_of(place.pk)).closes


def test_numbers_typed_by_hand_are_drawn_by_the_server(
    office: Person, place: Property, page_for: Callable[..., Page]
) -> None:
    page = page_for(office, width=390)
    page.goto(f"/properties/{place.pk}/walls/")
    page.locator("#id_length_0").press_sequentially("0")
    expect(page.locator("figure.drag")).to_be_hidden()
    expect(page.locator("#look-typed")).to_be_visible()
    page.get_by_role("button", name="Draw what is typed").click()
    expect(page.locator("figure.drag")).to_be_visible()
    assert kept(place)[0] == ("60", "90")
