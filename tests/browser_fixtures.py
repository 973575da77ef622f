"""A real Chromium against a live server; every page is watched while a test drives it.

`page_for(person, width=..., scheme=...)` opens a signed-in page. When the test ends, the page
fails it on any console error, page error, policy report or asset that did not arrive.
`axe(page)` asserts that no accessibility rule is broken.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from accounts.models import Person
from tests.factories import client_for

INSTALL = "No Chromium is on PATH: `apt-get update && apt-get install -y chromium`"
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
RULE_SETS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
OFFICE_WIDTH, HAND_WIDTH = 1360, 390


def chromium_path() -> str:
    """Return the Chromium of this machine; without one the test fails with the install line."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if found := shutil.which(name):
            return found
    raise FileNotFoundError(INSTALL)


def broken_rules(page: Page) -> list[str]:
    """Return the accessibility rules this page breaks, each with the elements concerned."""
    options = {"runOnly": {"type": "tag", "values": list(RULE_SETS)}}
    violations = Axe().run(page, options=options).response["violations"]
    return [
        f"{page.url} {found['id']}: {found['help']} {[n['html'][:120] for n in found['nodes']]}"
        for found in violations
    ]


class Watched:
    """Everything that went wrong on the pages of one browser context."""

    def __init__(self, context: BrowserContext) -> None:
        self.faults: list[str] = []
        context.on("console", self._console)
        context.on("weberror", lambda error: self.faults.append(f"page error: {error.error}"))
        context.on("response", self._response)

    def _console(self, message: Any) -> None:
        # A page that answers 4xx on purpose (a refusal) is logged as an error by the browser.
        is_answer = "Failed to load resource" in message.text and "/static/" not in (
            message.location.get("url", "")
        )
        if (message.type == "error" and not is_answer) or "Content Security" in message.text:
            self.faults.append(f"console {message.type}: {message.text}")

    def _response(self, response: Any) -> None:
        if "/static/" in response.url and response.status >= 400:
            self.faults.append(f"asset {response.status}: {response.url}")
        if response.status >= 500:
            self.faults.append(f"answer {response.status}: {response.url}")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The Chromium on PATH, without a window."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        yield chromium
        chromium.close()


PageFor = Callable[..., Page]


@pytest.fixture
def page_for(browser: Browser, live_server: Any) -> Iterator[PageFor]:
    """Open a page as a person: `page_for(office, width=390, scheme="dark")`; nobody: `None`."""
    opened: list[BrowserContext] = []
    watched: list[Watched] = []

    def open_page(person: Person | None, width: int = OFFICE_WIDTH, scheme: str = "light") -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": 844 if width < 600 else 900},
            color_scheme=scheme,
            has_touch=width < 600,
        )
        opened.append(context)
        watched.append(Watched(context))
        if person is not None:
            session = client_for(person).cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies(
                [
                    {
                        "name": settings.SESSION_COOKIE_NAME,
                        "value": session,
                        "url": live_server.url,
                    }
                ]
            )
        return context.new_page()

    open_page.watched = watched  # type: ignore[attr-defined]
    yield open_page
    for context in opened:
        context.close()
    faults = [fault for each in watched for fault in each.faults]
    assert not faults, "\n".join(faults)


@pytest.fixture
def axe() -> Callable[[Page], None]:
    """Assert that a page breaks no accessibility rule."""

    def check(page: Page) -> None:
        broken = broken_rules(page)
        assert not broken, "\n".join(broken)

    return check
