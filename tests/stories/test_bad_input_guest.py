"""Whatever an inspector sends at the desk: an answer in words, never an error of the house."""

from __future__ import annotations

from urllib.parse import quote, urlencode

import pytest
from django.urls import reverse

from tests.architecture.examples import Examples
from tests.architecture.guest_table import GUEST
from tests.architecture.permission_table import TABLE
from tests.architecture.test_guest_walk import entered
from tests.stories.bad_values import BAD_VALUES
from tests.stories.test_bad_input import FORM, WORST, Sender, _bad_questions, _form, _url

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
GOOD = {"since": "2026-11-01", "until": "2026-11-30", "miles": "1", "near": "40.0, -83.0"}


@pytest.mark.parametrize("name", sorted(GUEST))
def test_every_field_of_the_desk_bears_every_bad_value(name: str, own: Examples) -> None:
    """Each look and paper is noted, so something is stored by a question that is taken."""
    client = entered(str(own["inspector_token"]))
    desk = reverse("inspection")
    fields = _form("get", "inspection", client.get(desk).content.decode()).values
    assert {"since", "place", "lot"} <= set(fields)
    sender, url = Sender((), stores_with_a_page=True), _url(name, own)
    method = "get" if TABLE[name].get else "post"
    for what, asked in _bad_questions(url, {"page", "branch", *fields}):
        sender.send(what, client, method, asked)
    for kind in WORST:
        for key in fields:
            said = GOOD | {key: BAD_VALUES[kind][:6000]}
            sender.send(f"{kind} in {key}", client, method, f"{url}?{urlencode(said)}")
        body = urlencode(dict.fromkeys([*fields, "reason", "name"], BAD_VALUES[kind]))
        sender.send(f"{kind} posted", client, "post", url, body, content_type=FORM)
    assert sender.wrong == []


def test_every_bad_link_is_answered(own: Examples) -> None:
    client = entered(str(own["inspector_token"]))
    before = reverse("inspection_enter", args=["x"]).removesuffix("x/")
    sender = Sender((), stores_with_a_page=True)
    for kind, value in BAD_VALUES.items():
        token = quote(value[:3000].replace("/", "-") or "-", safe="")
        for method in ("get", "post"):
            code = sender.send(f"{method} {kind}", client, method, f"{before}{token}/")
            assert code in (400, 404, 422, 429), f"{method} {kind} answers {code}"
    assert sender.wrong == []
