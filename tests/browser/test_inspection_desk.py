"""A manager receives an inspector, who opens the link, asks and takes a paper along."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from tests.treatments.conftest import House, house, make_house
from treatments.services.recording import record_application

__all__ = ["house", "make_house"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1360, "light")])
def test_an_inspector_takes_a_paper_along(
    width: int, scheme: str, house: House, manager: Person, page_for: Callable[..., Page],
    axe: Callable[[Page], None],
) -> None:  # fmt: skip
    application = house.application()
    at = application.finished_at
    record_application(application=application, by=house.technician, now=at)
    page = page_for(manager, width=width, scheme=scheme)
    page.goto("/desk/inspectors/")
    page.fill("[name=inspector_name]", "Robin Example")
    page.fill("[name=agency]", "Demonstration Department")
    page.click("text=Make the link")
    axe(page)
    link = page.locator(".note code").inner_text()
    desk = page_for(None, width=width, scheme=scheme)
    desk.goto(link[link.index("/inspection") :])
    axe(desk)
    # a real browser sends an Origin with this form, which the first desk was refused for
    desk.click("text=Open the desk")
    expect(desk.locator("h1")).to_contain_text("One question")
    desk.fill("[name=since]", f"{at:%Y-%m-%d}")
    desk.click("text=Show everything")
    expect(desk.locator("h1")).to_contain_text("1 record in force")
    axe(desk)
    with desk.expect_download() as paper:
        desk.click("text=Hand over on paper")
    assert paper.value.suggested_filename == "inspection-desk.pdf"
    desk.click("text=Leave the desk")
    desk.goto("/sign-in/login/")
    page.goto("/desk/inspectors/")
    expect(page.get_by_text("taken by Robin Example")).to_be_visible()
