"""A booking with nothing but the keyboard: Tab, Enter and digits, from the list to the visit."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import RenewalState
from tests.browser.due import due_now, today

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
FARTHEST = 80
FOCUSED = """() => {
    const at = document.activeElement, box = at.getBoundingClientRect();
    const label = at.labels && at.labels[0] ? at.labels[0].innerText : at.innerText;
    const style = getComputedStyle(at);
    return {
        name: (label || "").trim().replaceAll("\\u00a0", " "),
        seen: box.width > 0 && box.height > 0,
        marked: style.outlineStyle !== "none" || style.boxShadow !== "none",
    };
}"""


def tab_to(page: Page, name: str) -> None:
    """Press Tab until the thing of this name has the focus; each stop on the way is marked."""
    for _ in range(FARTHEST):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUSED)
        assert at["marked"], f"the focus cannot be seen at {at['name']!r} of {page.url}"
        if at["seen"] and at["name"].startswith(name):
            return
    raise AssertionError(f"Tab does not reach {name!r} at {page.url}")


def test_a_visit_is_booked_without_a_mouse(
    office: Person, technician: Person, page_for: Callable[..., Page]
) -> None:
    renewal, day = due_now(technician), today() + timedelta(days=1)
    page = page_for(office)
    page.goto("/renewals/")
    page.keyboard.press("Tab")
    assert page.evaluate(FOCUSED)["name"].startswith("Skip")
    tab_to(page, "Book by hand")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="When and who")).to_be_visible()
    tab_to(page, "Technician")
    page.keyboard.type(technician.full_name)
    tab_to(page, "Day")
    page.keyboard.type(day.strftime("%m%d%Y"))
    tab_to(page, "Arrival from")
    page.keyboard.type("0900AM")
    tab_to(page, "Arrival until")
    page.keyboard.type("1200PM")
    tab_to(page, "Book this visit")
    page.keyboard.press("Space")
    page.wait_for_url(lambda url: not url.endswith("/book/"))
    visit = Visit.objects.get(renewal=renewal)
    assert (visit.day, visit.technician) == (day, technician)
    hours = (visit.window_opens_at, visit.window_closes_at)
    assert [at.astimezone(ZoneInfo("America/New_York")).hour for at in hours] == [9, 12]
    assert visit.renewal is not None
    assert visit.renewal.state == RenewalState.BOOKED
