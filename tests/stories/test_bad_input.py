"""Whatever is sent to any address by anybody: an answer in words, never an error of the house."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import resolve, reverse

from sites.models import Property
from tests.architecture.answers import ROLES, Answers
from tests.architecture.examples import Examples
from tests.architecture.permission_table import TABLE
from tests.factories import make_zone
from tests.guards_off import all_guards
from tests.stories.bad_values import BAD_VALUES, PageForm, forms_of
from treatments.models import LabelUse

pytestmark = pytest.mark.django_db
WORST = ("huge text", "not a number", "zero byte", "five thousand digits")
# Read from links and buttons of other pages, not from a form of the page itself.
KEYS_OF_LINKS = {
    "mix": {"zone", "use", "method", "pest", "tank"},
    "record_stop": {"zone", "use", "method", "pest", "tank", "load"},
    "renewal_book": {"technician", "day", "window_opens", "window_closes", "minutes", "note"},
    "property_book": {"technician", "day", "window_opens", "window_closes", "minutes", "note"},
    "search": {"q"},
    "identify": {"seen"},
    "property_identify": {"seen"},
    "property_identify_record": {"seen", "taxon"},
    "stop_identify": {"seen"},
    "stop_identify_record": {"seen", "taxon"},
    "register_csv": {"on"},
    "register_pdf": {"on"},
    "uselog_csv": {"since", "until", "product", "applicator", "branch", "severity"},
}
# Choices that the page shows empty: a load gives the product itself, a rest has a reason only where
# a part was typed, a sprayer holds only so much.
SHOWN_EMPTY = {"record_stop": ("load", "rest_"), "mix_load": ("sprayer",)}
STRANGE = "application/x-www-form-urlencoded; charset=none-such"
FORM = "application/x-www-form-urlencoded"
PYTHON = re.compile(r"Decimal\(|datetime\.|object at 0x|Traceback|Error\(|\[&#x27;|QuerySet|ErrorD")
# What opens for a guest's visit or link alone is walked by tests/scheduling/test_inspection.py and
# tests/scheduling/test_sightings.py.
OPEN = {
    name: row
    for name, row in TABLE.items()
    if any(code not in (302, 403, 404) for code in (*(row.get or ()), *(row.post or ())))
    or not name.startswith(("inspection", "site_logbook"))
}
POSTED = [name for name, row in OPEN.items() if row.post]
ASKED = [name for name, row in OPEN.items() if row.get]
# Numbers, days, text and choices behind these: the engines refuse a zero byte and a number out of
# reach differently, so these forms are walked on both.
ON_BOTH_ENGINES = (
    *("renewal_book", "record_stop", "zone_add", "customer_add", "limit_add"),
    *("mix_load", "load"),
)
# Pages whose questions reach the database: filters, searches, days, keys of rows.
ASKED_ON_BOTH_ENGINES = sorted(
    {*KEYS_OF_LINKS, "uselog", "renewals", "people", "stock", "register", "attention", "desk"}
    | {"use_report", "use_report_file", "day", "notices", "branch_loads", "identify"} & set(ASKED)
)
# What these store comes with a page instead of a redirect: the plan, the link of an invitation or
# to a logbook.
STORES_WITH_A_PAGE = {"day", "person_invite", "person_invite_again", "logbook_link"} | {
    "desk_label",  # a paper handed over is a leaf of the log
    "desk_notice",
    "own_feed",  # the address is shown once, in the answer itself
}


def guarded_rows() -> tuple[int, ...]:
    """How many rows each guarded table holds."""
    tables = sorted({guard.table for guard in all_guards()})
    counts = ", ".join(f'(SELECT count(*) FROM "{table}")' for table in tables)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {counts}")
        return tuple(cursor.fetchone())


@contextmanager
def _taken_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


class Sender:
    """Sends requests that leave nothing behind and collects what is wrong with the answers."""

    def __init__(self, before: tuple[int, ...], stores_with_a_page: bool = False) -> None:
        self.before = before
        self.may_store = stores_with_a_page
        self.wrong: list[str] = []

    def send(
        self, what: str, client: Client, method: str, url: str, *args: Any, **more: Any
    ) -> int:
        with _taken_back():
            answer = getattr(client, method)(url, *args, **more)
            self.wrong += [f"{what}: {one}" for one in self._faults(answer)]
            return int(answer.status_code)

    def _faults(self, answer: HttpResponse) -> Iterator[str]:
        code = answer.status_code
        if code >= 500:
            error = getattr(answer, "exc_info", None)
            yield f"{code} {error[1]!r:.200}" if error else str(code)
            return
        if not 300 <= code < 400 and not self.may_store and guarded_rows() != self.before:
            yield f"{code} and yet something is stored"
        if "html" in answer.get("Content-Type", ""):
            yield from _faults_of(answer.content.decode())


def _faults_of(page: str) -> Iterator[str]:
    if found := PYTHON.search(page):
        yield f"speaks Python: {page[max(0, found.start() - 60) : found.end() + 60]!r}"
    if "<script>alert" in page:
        yield "markup comes back as markup"


def _role(answers: Answers) -> str:
    """The role that gets furthest."""
    order = (3, 4, 2, 0, 1)
    return ROLES[next((at for at in order if answers[at] not in (302, 403)), 4)]


def _opens(name: str) -> str:
    row = TABLE[name]
    answers = row.get or row.post
    assert answers
    role = _role(answers)
    let_in = [one for one, code in zip(ROLES, answers, strict=True) if code not in (403, 404)]
    return role if role in let_in else let_in[-1]


def _url(name: str, examples: Examples) -> str:
    return reverse(name, args=[examples[thing] for thing in TABLE[name].takes])


def _shown(name: str, client: Client, own: Examples) -> tuple[str, str]:
    """The address of a page with what it needs in its query, and the page."""
    url = _url(name, own)
    if name in ("record_stop", "mix_load"):
        use = LabelUse.objects.order_by("pk")[0].pk
        # the own zone was treated today: nothing is mixed for it again so soon
        zone = own["zone"] if name == "record_stop" else _untreated_zone(own)
        url += f"?{urlencode({'zone': zone, 'use': use})}"
    # the form of a load stands on the page of the mix
    answer = client.get(url.replace("/mix/load/", "/mix/"))
    is_page = answer.status_code == 200 and "html" in answer.get("Content-Type", "")
    return url, answer.content.decode() if is_page else ""


def _untreated_zone(own: Examples) -> int:
    return make_zone(Property.objects.get(pk=own["property"])).pk


def _leads_to(name: str, form: PageForm) -> bool:
    path = form.action.split("?")[0]
    return not path or resolve(path).url_name == name


def _form(method: str, name: str, page: str) -> PageForm:
    """The form a page sends; a button alone is asked with the fields such views read."""
    found = [one for one in forms_of(page) if one.method == method and _leads_to(name, one)]
    form = max(found, key=lambda one: len(one.values), default=PageForm(method))
    form.values = form.values or {"reason": "nobody home", "note": ""}
    for field in form.values:
        if field.startswith(SHOWN_EMPTY.get(name, ("no field",))):
            form.values[field] = ""
    if name == "shifts":  # seven times the same six fields
        form.values = {key: form.values[key] for key in form.values if key.startswith("d0-")}
    return form


def _bad_posts(form: PageForm, *, in_full: bool) -> Iterator[tuple[str, dict[str, str]]]:
    filled = form.filled()
    for kind, value in BAD_VALUES.items():
        yield f"{kind} in every field", dict.fromkeys(filled, value)
    for at, key in enumerate(filled):
        # each of the worst in each field of what is walked in full, else in turn
        for kind in WORST if in_full else (WORST[at % len(WORST)],):
            yield f"{kind} in {key}", filled | {key: BAD_VALUES[kind]}


def _post_everything(
    name: str, clients: dict[str, Client], own: Examples, *, in_full: bool
) -> list[str]:
    client = clients[_opens(name)]
    sender = Sender(guarded_rows(), name in STORES_WITH_A_PAGE)
    url, page = _shown(name, client, own)
    for what, fields in _bad_posts(_form("post", name, page), in_full=in_full):
        sender.send(what, client, "post", url, urlencode(fields), content_type=FORM)
    return sender.wrong


@pytest.mark.parametrize("name", [name for name in POSTED if name not in ON_BOTH_ENGINES])
def test_every_field_of_every_form_bears_every_bad_value(
    name: str, clients: dict[str, Client], own: Examples, pytestconfig: pytest.Config
) -> None:
    in_full = bool(pytestconfig.getoption("--every-value"))
    assert _post_everything(name, clients, own, in_full=in_full) == []


@pytest.mark.engine
@pytest.mark.parametrize("name", ON_BOTH_ENGINES)
def test_both_engines_bear_every_bad_value(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    assert _post_everything(name, clients, own, in_full=True) == []


@pytest.mark.parametrize(
    "name", ["renewal_book", "record_stop", "mix_load", "zone_add", "property_add"]
)
def test_the_good_values_alone_are_taken(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    """Otherwise one bad value among them would be hidden behind another one."""
    client = clients[_opens(name)]
    url, page = _shown(name, client, own)
    with _taken_back():
        answer = client.post(url, _form("post", name, page).filled())
        assert answer.status_code == 302, answer.content.decode()


def _bad_questions(url: str, keys: set[str]) -> Iterator[tuple[str, str]]:
    for kind, value in BAD_VALUES.items():
        yield f"{kind} asked", f"{url}?{urlencode(dict.fromkeys(keys, value[:6000]))}"
    yield "repeated", f"{url}?{urlencode([(key, end) for key in keys for end in ('1', 'x', '')])}"
    yield "no text", f"{url}?{'&'.join(f'{key}=%ff%fe' for key in keys)}"


def _ask_everything(name: str, clients: dict[str, Client], own: Examples) -> list[str]:
    client = clients[_opens(name)]
    _, page = _shown(name, client, own)
    sender = Sender(guarded_rows())
    keys = {"page", *_form("get", name, page).values} | (KEYS_OF_LINKS.get(name) or set())
    for what, asked in _bad_questions(_url(name, own), keys):
        sender.send(what, client, "get", asked)
    return sender.wrong


@pytest.mark.parametrize("name", [name for name in ASKED if name not in ASKED_ON_BOTH_ENGINES])
def test_every_page_bears_every_bad_question(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    assert _ask_everything(name, clients, own) == []


@pytest.mark.engine
@pytest.mark.parametrize("name", ASKED_ON_BOTH_ENGINES)
def test_both_engines_bear_every_bad_question(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    assert _ask_everything(name, clients, own) == []


@pytest.mark.engine
@pytest.mark.parametrize("key", [0, 2**31, 2**63, 10**30], ids=str)
def test_numbers_of_things_that_cannot_exist_are_not_found(
    key: int, clients: dict[str, Client], own: Examples
) -> None:
    words = {thing: one for thing, one in own.items() if isinstance(one, str)}
    with_number = [name for name, row in OPEN.items() if not {*row.takes} <= {*words}]
    sender = Sender(guarded_rows())
    for name in with_number:
        url = _url(name, dict.fromkeys(TABLE[name].takes, key) | words)
        for method in ("get", "post"):
            code = sender.send(f"{method} {url}", clients[_opens(name)], method, url)
            assert code in (302, 403, 404, 405, 422), f"{method} {url} answers {code}"
    assert sender.wrong == []


def _strange_bodies() -> Iterator[tuple[str, tuple[object, ...], dict[str, str]]]:
    file = SimpleUploadedFile("big.bin", b"\x00\xff" * 1_500_000)
    yield "a file of 3 MB", ({"name": file, "reason": file},), {}
    yield "a body of 10 MB", ("a=" + "b" * 10_000_000,), {"content_type": FORM}
    yield "thousands of fields", ("&".join(f"f{n}=1" for n in range(1500)),), {"content_type": FORM}
    yield "JSON", ('{"reason": ["a"], "name": {"a": NaN}}',), {"content_type": "application/json"}
    yield (
        "broken parts",
        ("--x\r\nnot a part",),
        {"content_type": "multipart/form-data; boundary=x"},
    )
    yield "no boundary", ("abc",), {"content_type": "multipart/form-data"}
    yield "no text", (b"name=%ff%fe&reason=%00",), {"content_type": FORM}
    yield "an unknown script", (b"name=a",), {"content_type": FORM, "CONTENT_TYPE": STRANGE}
    yield "repeated fields", ("name=a&name=b&reason=&reason=c",), {"content_type": FORM}


@pytest.mark.parametrize("name", ["renewal_decline", "customer_add", "stop_not_done", "day"])
def test_bodies_that_are_no_forms_are_answered(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    url, client = _url(name, own), clients[_opens(name)]
    sender = Sender(guarded_rows(), name in STORES_WITH_A_PAGE)
    codes = {
        what: sender.send(what, client, "post", url, *body, **more)
        for what, body, more in _strange_bodies()
    }
    assert sender.wrong == []
    assert codes["a body of 10 MB"] == codes["thousands of fields"] == 400


BAD_FILES = {
    "nothing": b"",
    "a picture": b"\x89PNG\r\n\x1a\n" + b"\x00\xff" * 1_500_000,
    "deep": b"[" * 200_000,
    "no number": b'{"product": NaN, "directions": [1e999]}',
    "no text": b"\xff\xfe{\x00}\x00",
    "a list": b"[]",
}


@pytest.mark.parametrize("name", sorted(name for name in POSTED if "file" in name.split("_")))
def test_files_that_are_no_labels_are_answered(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    sender, client = Sender(guarded_rows()), clients[_opens(name)]
    _, page = _shown(name, client, own)
    filled = _form("post", name, page).filled()
    for what, content in BAD_FILES.items():
        for file_name in ("a.json", "../../e\u202etc/\U0001f41c.pdf", "n" * 300):
            fields = filled | {"file": SimpleUploadedFile(file_name, content)}
            code = sender.send(what, client, "post", _url(name, own), fields)
            assert code == 422, f"{what} answers {code}"
    assert sender.wrong == []


@pytest.mark.parametrize("name", sorted(TABLE))
def test_every_role_is_answered_whatever_it_sends(
    name: str, clients: dict[str, Client], own: Examples, elses: Examples
) -> None:
    sender = Sender(guarded_rows(), name in STORES_WITH_A_PAGE)
    for role in ROLES:
        for examples in (own, elses):
            url = _url(name, examples)
            others = {key: str(elses[key]) for key in elses} | {"technician": str(elses["person"])}
            for fields in (others, dict.fromkeys([*others, "reason", "name"], "a\x00b")):
                sender.send(f"{role} {url}", clients[role], "post", url, fields)
    assert sender.wrong == []
