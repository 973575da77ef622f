"""Role by address, for GET and POST, with an own example and somebody else's."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from accounts.permissions import Permission
from tests.architecture.answers import ROLES, Row, of_somebody_else
from tests.architecture.examples import Examples
from tests.architecture.package_table import PACKAGES
from tests.architecture.permission_table import TABLE
from tests.architecture.url_map import addresses

OURS = {address.name: address for address in addresses() if address.is_ours}
THEIRS = {address.name: address for address in addresses() if not address.is_ours}


def test_every_view_says_who_may_or_why_it_is_open() -> None:
    silent = [
        address.route
        for address in OURS.values()
        if not isinstance(getattr(address.view, "permission", None), Permission)
        and not getattr(address.view, "open_because", "")
    ]
    assert silent == []


def test_every_address_has_a_name_of_its_own() -> None:
    names = [address.name for address in addresses()]
    assert "" not in names
    assert len(names) == len(set(names))


def test_the_table_has_a_row_for_every_address_and_no_other() -> None:
    assert sorted(TABLE) == sorted(OURS)


def test_the_table_has_a_row_for_every_address_of_a_package() -> None:
    rows = {(package, name) for package, rows in PACKAGES.items() for name in rows}
    assert rows == {(address.package, address.name) for address in THEIRS.values()}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_row_names_an_example_for_every_argument(name: str) -> None:
    assert len(TABLE[name].takes) == len(OURS[name].arguments)


@contextmanager
def _taken_back() -> Iterator[None]:
    """Undo what a request stored, so that every role meets the same rows."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def _asked(clients: dict[str, Client], method: str, url: str) -> tuple[int, ...]:
    fields = {"nobody_asked": "for this"} if method == "post" else {}
    found = []
    for role in ROLES:
        with _taken_back():
            found.append(getattr(clients[role], method)(url, fields).status_code)
    return tuple(found)


def _url(name: str, row: Row, examples: Examples) -> str:
    return reverse(name, args=[examples[thing] for thing in row.takes])


@pytest.mark.django_db
@pytest.mark.parametrize("name", sorted(TABLE))
def test_each_role_gets_what_the_table_says(
    name: str, clients: dict[str, Client], own: Examples, elses: Examples
) -> None:
    row = TABLE[name]
    expected = {"get": row.get, "post": row.post}
    taken = [method for method, column in expected.items() if column]
    found = {method: _asked(clients, method, _url(name, row, own)) for method in taken}
    assert found == {method: expected[method] for method in taken}
    if row.takes:
        others = {method: _asked(clients, method, _url(name, row, elses)) for method in taken}
        theirs = {method: of_somebody_else(expected[method]) for method in taken}
        assert others == ({m: expected[m] for m in taken} if row.is_everybodys else theirs)


def _method_refused(row: Row) -> list[str]:
    return [method for method in ("get", "post") if getattr(row, method) is None]


@pytest.mark.django_db
@pytest.mark.parametrize("name", [name for name in sorted(TABLE) if _method_refused(TABLE[name])])
def test_a_method_without_a_column_is_not_taken(
    name: str, clients: dict[str, Client], own: Examples
) -> None:
    row = TABLE[name]
    for method in _method_refused(row):
        found = set(_asked(clients, method, _url(name, row, own)))
        assert found <= {302, 403, 405}, f"{method} is taken by somebody: give it a column"
        assert 405 in found, f"{method} is taken by somebody: give it a column"


PACKAGE_ROWS = [(name, row) for rows in PACKAGES.values() for name, row in rows.items()]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "row"), PACKAGE_ROWS, ids=[name for name, _ in PACKAGE_ROWS])
def test_package_addresses_ask_who_you_are(name: str, row: Row, clients: dict[str, Client]) -> None:
    url = reverse(name, args=list(row.takes))
    found = (
        _asked(clients, "get", url) if row.get else None,
        _asked(clients, "post", url) if row.post else None,
    )
    assert found == (row.get, row.post)
