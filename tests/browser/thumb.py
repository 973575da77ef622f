"""A thumb on a phone: taps counted, targets large enough, nothing wider than the screen."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

SMALLEST_TARGET = 24  # CSS px, WCAG 2.2 success criterion 2.5.8
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


class Thumb:
    """Taps on a page, counted; each target is large enough and each page fits the screen."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps = page, 0

    def tap(self, target: Locator) -> None:
        # waits for the page that holds the target
        target.scroll_into_view_if_needed()
        assert not self.page.evaluate(TOO_WIDE), f"{self.page.url} scrolls sideways"
        box = target.bounding_box()
        assert box and min(box["width"], box["height"]) >= SMALLEST_TARGET
        target.tap()
        self.taps += 1

    def press(self, name: str) -> None:
        page = self.page
        self.tap(page.get_by_role("button", name=name).or_(page.get_by_role("link", name=name)))

    def fill(self, label: str, typed: str) -> None:
        field = self.page.get_by_label(label)
        self.tap(field)
        self.page.keyboard.type(typed)
        expect(field).to_have_value(typed)

    def choose(self, label: str, option: str) -> None:
        """The picker of the phone: one tap opens it, one chooses."""
        self.page.get_by_label(label).select_option(label=option)
        self.taps += 2
