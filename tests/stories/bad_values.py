"""What people, spreadsheets and malice put into fields, and what a page asks to be filled in."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

BAD_VALUES = {
    "nothing": "",
    "huge text": "x" * 100_000,
    "letters": "ten",
    "not a number": "NaN",
    "infinite": "Infinity",
    "too great a power": "1e999",
    "ten to the twelfth": "1000000000000",
    "negative": "-5",
    "markup": "<script>alert(1)</script>",
    "control characters": "a\x07b\x1b[31m\r\nc",
    "zero byte": "a\x00b",
    "emoji": "\U0001f41c\U0001f680",
    "beyond 64 bits": str(2**63),
    "five thousand digits": "9" * 5000,
    "digits of another script": "\u0663\u00b2",
    "no day of the calendar": "2026-02-31",
    "template": "{{ 7|add:7 }}{% now 'Y' %}",
}

# Good values for fields that a page shows empty, so that one bad value is judged alone.
GOOD_VALUES = {
    "again": "a sentence only you would say",
    "city": "Worthington",
    "day": "2026-12-01",
    "email": "new@firm.example",
    "ends_on": "2026-12-02",
    "expires_on": "2027-12-31",
    "finished": "11:00",
    "finished_amount": "2",
    "full_name": "Nora New",
    "height_up": "3",
    "issued_on": "2026-01-02",
    "minutes": "45",
    "name": "Something new",
    "number": "7B",
    "password": "a sentence only you would say",
    "product_amount": "1.5",
    "reason": "asked for it",
    "said_by": "Pat Example",
    "said_on": "2026-11-02",
    "started": "10:00",
    "starts_on": "2026-12-01",
    "state": "OH",
    "street": "9 New Street",
    "wall_run": "120",
    "window_closes": "12:00",
    "window_opens": "10:00",
    "zip_code": "43085",
}


@dataclass
class PageForm:
    """One form of a page: how it is sent, where to, and the value it shows in every field."""

    method: str
    action: str = ""
    values: dict[str, str] = field(default_factory=dict)

    def filled(self) -> dict[str, str]:
        """The form as shown, with a good value where it shows nothing."""
        return {
            name: shown or GOOD_VALUES.get(name.split("-")[-1], "")
            for name, shown in self.values.items()
        }


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[PageForm] = []
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        if tag == "form":
            method = (known.get("method") or "get").lower()
            self.found.append(PageForm(method, known.get("action") or ""))
        elif self.found and tag in ("input", "textarea", "select"):
            self._field(tag, known)
        elif tag == "option" and self.select and known.get("value"):
            self._option(known)

    def _field(self, tag: str, known: dict[str, str | None]) -> None:
        name, shown = known.get("name"), known.get("value") or ""
        self.select = name or "" if tag == "select" else ""
        if not name or name == "csrfmiddlewaretoken":
            return
        is_tick = known.get("type") in ("checkbox", "radio")
        if not is_tick or "checked" in known or name not in self.found[-1].values:
            self.found[-1].values[name] = shown

    def _option(self, known: dict[str, str | None]) -> None:
        values = self.found[-1].values
        if "selected" in known or not values.get(self.select):
            values[self.select] = known.get("value") or ""


def forms_of(page: str) -> list[PageForm]:
    """Every form of a page in its order."""
    reader = _Forms()
    reader.feed(page)
    return reader.found
