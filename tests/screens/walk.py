"""Every page of a role, in both widths and both schemes, watched and photographed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Error, Page

from accounts.models import Person
from tests.architecture.answers import ROLES, Row
from tests.architecture.permission_table import PACKAGES, TABLE
from tests.browser_fixtures import HAND_WIDTH, OFFICE_WIDTH, Watched, broken_rules
from tests.screens.examples import Examples, examples_for

# Lists that the demo firm must fill; `.empty` on one of them is a fault.
MUST_HAVE_ROWS = {"renewals", "customers", "people", "branches", "day", "today", "uselog"}
# Pages that show more when asked for something: (role, page, its argument, the query).
ASKED = (
    ("technician", "mix", ("visit",), "{choice}"),
    ("technician", "mix", ("visit",), "{refused}"),
    ("technician", "mix", ("visit",), "{silent}"),
    ("technician", "stop_decide", ("visit",), "{silent}"),
    ("technician", "record_stop", ("visit",), "{choice}"),
    ("technician", "stop_identify", ("visit",), "{seen}"),
    ("technician", "stop_identify_record", ("visit",), "{seen}"),
    ("office", "identify", (), "{seen}"),
    ("technician", "mix_tag", ("visit",), "{choice}"),
    ("technician", "stop", ("visit_notice.visit",), ""),
    ("office", "search", (), "q=an"),
    ("office", "day", (), "date={day}"),
    ("manager", "use_report", ("report",), "period=month&by=place"),
    ("manager", "desk", (), "until=2099-12-31"),
)
OVERFLOW = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@dataclass
class Result:
    """What came out of the walk: pictures taken, files fetched, and every fault in words."""

    pictures: int = 0
    files: int = 0
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Stop:
    """One page of the walk."""

    name: str
    url: str


def _rows(role: str) -> Iterator[tuple[str, Row, bool]]:
    """Every address that shows a page to the role; the flag says whether it is a package's."""
    index = ROLES.index(role)
    packages = [item for rows in PACKAGES.values() for item in rows.items()]
    for rows, is_package in ((TABLE.items(), False), (packages, True)):
        for name, row in rows:
            if row.get and row.get[index] == 200:
                yield name, row, is_package


def stops_for(role: str, person: Person | None, result: Result) -> list[Stop]:
    """Return the pages of a role; an address without an example in the demo is a fault."""
    examples = examples_for(person)
    stops = []
    for name, row, is_package in _rows(role):
        found = {thing: _example(examples, name, thing) for thing in row.takes}
        missing = [] if is_package else [thing for thing in row.takes if found[thing] is None]
        if missing:
            result.faults.append(f"{role} {name}: the demo has no {', '.join(missing)}")
            continue
        takes = row.takes if is_package else [found[thing] for thing in row.takes]
        stops.append(Stop(name, reverse(name, args=list(takes))))
    return stops + _asked_for(role, examples, result)


def _example(examples: Examples, name: str, thing: str) -> object:
    """The thing this address needs, else any of its kind."""
    return examples.get(f"{name}.{thing}", examples.get(thing))


def _asked_for(role: str, examples: Examples, result: Result) -> list[Stop]:
    """The pages of a role once more, with a choice made."""
    stops = []
    for _, name, takes, query in (asked for asked in ASKED if asked[0] == role):
        try:
            url = reverse(name, args=[examples[thing] for thing in takes])
            word = query.strip("{}") if query.startswith("{") else "asked"
            stops.append(Stop(f"{name}_{word}", f"{url}?{query.format(**examples)}"))
        except KeyError as missing:
            result.faults.append(f"{role} {name}: the demo has no {missing}")
    return stops


def _context(browser: Browser, address: str, person: Person | None, width: int, scheme: str):  # type: ignore[no-untyped-def]
    context = browser.new_context(
        base_url=address,
        viewport={"width": width, "height": 844 if width == HAND_WIDTH else 900},
        color_scheme=scheme,
    )
    if person is not None:
        client = Client()
        client.force_login(person)
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        cookie = {"name": settings.SESSION_COOKIE_NAME, "value": session, "url": address}
        context.add_cookies([cookie])
    return context


def _is_page(context: BrowserContext, stop: Stop) -> bool:
    answer = context.request.get(stop.url)
    if answer.status != 200:
        raise Error(f"answered {answer.status}")
    return answer.headers["content-type"].startswith("text/html")


def _look(context: BrowserContext, stop: Stop, picture: Path) -> list[str]:
    """Open one page, take its picture and return what is wrong with it."""
    page = context.new_page()
    try:
        page.goto(stop.url, wait_until="load")
        faults = broken_rules(page)
        if stop.name in MUST_HAVE_ROWS and page.locator(".empty").count():
            faults.append("the list is empty, the demo must fill it")
        if (excess := page.evaluate(OVERFLOW)) > 0:
            faults.append(f"wider than the window by {excess} px")
        _photograph(page, picture)
        return faults
    finally:
        page.close()


def _photograph(page: Page, picture: Path) -> None:
    """The whole page in a window as high as it is: a bar at the foot hides nothing of it."""
    width = page.evaluate("window.innerWidth")
    height = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": width, "height": height})
    page.screenshot(path=picture, full_page=True)


def _visit(context: BrowserContext, stop: Stop, picture: Path, result: Result) -> list[str]:
    try:
        if not _is_page(context, stop):
            result.files += 1
            return []
        result.pictures += 1
        return _look(context, stop, picture)
    except Error as error:
        return [f"could not be opened: {error.message.splitlines()[0]}"]


def walk_role(
    browser: Browser, address: str, role: str, person: Person | None, out: Path, result: Result
) -> None:
    """Walk every page of one role and add what was found to the result."""
    stops = stops_for(role, person, result)
    for width in (OFFICE_WIDTH, HAND_WIDTH):
        for scheme in ("light", "dark"):
            context = _context(browser, address, person, width, scheme)
            watched = Watched(context)
            for stop in stops:
                picture = out / f"{role}-{stop.name}-{width}-{scheme}.png"
                faults = _visit(context, stop, picture, result) + watched.faults
                watched.faults.clear()
                where = f"{role} {stop.name} {width} {scheme}"
                result.faults += [f"{where}: {fault}" for fault in faults]
            context.close()
