"""Doors of the whole house: forged forms, headers of every page, cookies, what templates hold."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from accounts.models import Person
from tests.architecture.answers import ROLES
from tests.architecture.examples import Examples
from tests.architecture.permission_table import TABLE
from tests.architecture.source import ROOT
from tests.factories import PASSWORD, client_for
from tests.stories.test_bad_input import guarded_rows

POSTED = [name for name, row in TABLE.items() if row.post]
INLINE = re.compile(
    r"<style|<script(?![^>]*\ssrc=)|\sstyle=|\shx-on|javascript:|\|safe\b|autoescape off"
    r"|\son(?:click|load|change|submit|input|error|focus|blur|key\w+|mouse\w+)="
)


def _url(name: str, own: Examples) -> str:
    return reverse(name, args=[own[thing] for thing in TABLE[name].takes])


@pytest.mark.django_db
def test_no_form_is_taken_without_its_token(office: Person, own: Examples) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(office)
    packages = ["account_login", "account_logout", "account_reset_password"]
    addresses = [_url(name, own) for name in POSTED] + [reverse(name) for name in packages]
    before = guarded_rows()
    answers = {client.post(url, {"reason": "forged"}).status_code for url in addresses}
    assert answers == {403}
    assert guarded_rows() == before


@pytest.mark.django_db
def test_following_a_link_signs_nobody_out(office: Person) -> None:
    client = client_for(office)
    client.get(reverse("account_logout"))
    assert "_auth_user_id" in client.session
    client.post(reverse("account_logout"))
    assert "_auth_user_id" not in client.session


@pytest.mark.django_db
def test_every_answer_carries_the_policy_and_is_kept_by_nobody(
    clients: dict[str, Client], own: Examples
) -> None:
    urls = [_url(name, own) for name in TABLE] + ["/no-such-page/"]
    for role in ROLES:
        for url in urls:
            headers = clients[role].get(url).headers
            policy = headers["Content-Security-Policy"]
            assert "default-src 'none'" in policy and "unsafe" not in policy, url
            assert headers["X-Frame-Options"] == "DENY", url
            assert headers["X-Content-Type-Options"] == "nosniff", url
            if role != "anonymous":
                kept = headers["Cache-Control"]
                assert "no-store" in kept and "private" in kept, f"{role} {url}"


def test_no_template_holds_a_style_or_a_script_of_its_own() -> None:
    found = {
        f"{path.relative_to(ROOT)}: {mark[0]}"
        for folder in ("config", "accounts", "sites", "treatments", "scheduling")
        for path in (ROOT / folder).rglob("*.html")
        for mark in INLINE.finditer(path.read_text())
    }
    assert found == set()


def _settings(tmp_path: Path, base_url: str, names: str) -> str:
    more = {"BASE_URL": base_url, "DATA_DIR": str(tmp_path), "DATABASE_URL": "sqlite:///:memory:"}
    code = f"from config import settings; print(*[vars(settings)[n] for n in {names!r}.split()])"
    run = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | more,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return run.stdout.strip()


@pytest.mark.parametrize(
    ("base_url", "flags"),
    [("http://127.0.0.1:8000", "False False False"), ("https://firm.example", "True True True")],
)
def test_cookies_are_for_https_only_when_the_address_is(
    base_url: str, flags: str, tmp_path: Path
) -> None:
    names = "SESSION_COOKIE_SECURE CSRF_COOKIE_SECURE SECURE_SSL_REDIRECT"
    assert _settings(tmp_path, base_url, names) == flags


@pytest.mark.django_db
def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(office: Person) -> None:
    client = Client()
    client.post(reverse("account_login"), {"login": office.email, "password": PASSWORD})
    cookie = client.cookies["sessionid"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["stop", "mix", "record_stop", "visit_notice", "stop_start"])
def test_a_forged_number_of_a_visit_opens_nothing(
    name: str, clients: dict[str, Client], own: Examples, elses: Examples
) -> None:
    before = guarded_rows()
    url = reverse(name, args=[elses["visit"]]) + f"?zone={own['zone']}"
    client = clients["technician"]
    codes = {client.get(url).status_code, client.post(url, {"ending": "finish"}).status_code}
    assert codes <= {404, 405}
    assert guarded_rows() == before
