"""Signing in, in a real browser: the page everybody meets first."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from accounts.models import Person
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def _sign_in(page: Page, email: str, password: str) -> None:
    page.goto("/sign-in/login/")
    page.locator("[name=login]").fill(email)
    page.locator("[name=password]").fill(password)
    page.get_by_role("button", name="Sign in").click()


@pytest.mark.parametrize(("width", "scheme"), [(1360, "light"), (390, "dark")])
def test_the_page_can_be_used_by_everybody(
    page_for: Callable[..., Page], axe: Callable[[Page], None], width: int, scheme: str
) -> None:
    page = page_for(None, width=width, scheme=scheme)
    page.goto("/sign-in/login/")
    axe(page)


def test_a_wrong_password_is_answered_with_a_sentence(
    page_for: Callable[..., Page], axe: Callable[[Page], None], technician: Person
) -> None:
    page = page_for(None)
    _sign_in(page, technician.email, "something else entirely")
    expect(page.locator("main")).to_contain_text("not correct")
    axe(page)


def test_a_technician_lands_on_today(
    page_for: Callable[..., Page], axe: Callable[[Page], None], technician: Person
) -> None:
    page = page_for(None, width=390)
    _sign_in(page, technician.email, PASSWORD)
    page.wait_for_url("**/today/")
    axe(page)


def test_a_watched_page_does_not_hide_what_went_wrong(
    page_for: Callable[..., Page], technician: Person
) -> None:
    page = page_for(technician, width=390)
    page.goto("/today/")
    watched = page_for.watched[-1]  # type: ignore[attr-defined]
    page.evaluate("document.head.insertAdjacentHTML('beforeend', '<style>p { margin: 0 }</style>')")
    page.evaluate("fetch('/static/not-there.css')")
    page.wait_for_timeout(300)
    seen = "\n".join(watched.faults)
    watched.faults.clear()
    assert "Content Security" in seen
    assert "asset 404" in seen
