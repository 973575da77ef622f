"""The safety questions of a dusted void on a phone: answered by keyboard, light and dark."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from tests.browser.due import today
from tests.factories import make_customer, make_property, make_visit
from tests.stories.test_safety_questions import dust

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_questions_by_keyboard(
    page_for: Callable[..., Page], axe: Callable[[Page], None], technician: Person, scheme: str
) -> None:
    place = make_property(make_customer(technician.branch))
    visit = make_visit(place, technician, today())
    zone, use, _ = dust(visit)
    page = page_for(technician, width=390, scheme=scheme)
    page.goto(f"/stops/{visit.pk}/mix/?zone={zone.pk}&use={use.pk}&tank=1")
    group = page.get_by_role("radiogroup", name="Are people and pets out, and kept out?")
    group.get_by_label("Yes").focus()
    page.keyboard.press("Space")
    page.keyboard.press("ArrowDown")  # from yes to no
    page.get_by_role("button", name="Check the label with these answers").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("People or pets are not out.")).to_be_visible()
    expect(group.get_by_label("No")).to_be_checked()
    axe(page)
    assert not page.evaluate(TOO_WIDE)
    page.get_by_role("link", name="Record what was applied").click()
    expect(page.get_by_label("Who cleared it for entry, and when")).to_be_visible()
    expect(group.get_by_label("No")).to_be_checked()  # the answer came along
    axe(page)
    assert not page.evaluate(TOO_WIDE)
