"""Deciding what a firm's spreadsheet makes, changes and leaves as it is.

One customer is one name within a branch, told apart by billing address where the file gives
several; one property is one address of one customer; one zone is one name at one property.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from scheduling.rules.accounts_known import (
    Known,
    KnownBranch,
    KnownContact,
    KnownCustomer,
    KnownHistory,
    KnownProperty,
    KnownZone,
)
from scheduling.rules.accounts_rows import ContactRow, CustomerRow, PropertyRow, ZoneRow, folded
from scheduling.rules.spreadsheet import AccountRow, Problem

NEW_BRANCH = 0
K = TypeVar("K")
T = TypeVar("T")
Planned = CustomerRow | ContactRow | PropertyRow | ZoneRow


@dataclass(frozen=True)
class Change:
    """A cell that says something else than what is stored."""

    line: int
    thing: str
    column: str
    stored: object
    said: object

    def __str__(self) -> str:
        stored = "empty" if self.stored in ("", None) else self.stored
        where = f"line {self.line}, {self.thing}"
        return f"{where}: {self.column} is {stored}, the file says {self.said}"


@dataclass(frozen=True)
class ImportPlan:
    """Everything the file names, each with what is known of it; rows point at positions."""

    customers: tuple[CustomerRow, ...] = ()
    contacts: tuple[ContactRow, ...] = ()
    properties: tuple[PropertyRow, ...] = ()
    zones: tuple[ZoneRow, ...] = ()
    problems: tuple[Problem, ...] = ()

    def all(self) -> Iterator[Planned]:
        yield from self.customers
        yield from self.contacts
        yield from self.properties
        yield from self.zones

    def changes(self) -> tuple[Change, ...]:
        """Every cell that differs from what is stored, in the order of the file."""
        found = (
            Change(one.row.line, one.words(), *difference)
            for one in self.all()
            for difference in one.differences()
        )
        return tuple(sorted(found, key=lambda change: change.line))


def branch_of(
    row: AccountRow, branches: Sequence[KnownBranch], chosen: int | None
) -> int | Problem:
    """The branch of a row: the one chosen, the only one, the only one of its state.

    Without any branch it is `NEW_BRANCH`, the one the import makes.
    """
    if chosen is not None:
        return chosen
    if len(branches) <= 1:
        return branches[0].pk if branches else NEW_BRANCH
    near = [one.pk for one in branches if one.state == row.service_state]
    if len(near) == 1:
        return near[0]
    many = "no branch is" if not near else f"{len(near)} branches are"
    reason = f"{many} in {row.service_state}. Name the branch with --branch."
    return Problem(row.line, "service_state", reason)


def plan_import(
    rows: Sequence[AccountRow],
    known: Known,
    branches: Sequence[KnownBranch],
    chosen: int | None = None,
) -> ImportPlan:
    """Compare every row with what is known; a row without a branch is a problem."""
    planner = _Planner(known, rows)
    problems = []
    for row in rows:
        branch = branch_of(row, branches, chosen)
        if isinstance(branch, Problem):
            problems.append(branch)
        else:
            planner.take(row, branch)
    problems += planner.problems
    return ImportPlan(
        tuple(planner.customers),
        tuple(planner.contacts),
        tuple(planner.properties),
        tuple(planner.zones),
        tuple(sorted(problems, key=lambda one: one.line)),
    )


class _Planner:
    """Positions of what the file named so far, and everything known by the keys of the file."""

    def __init__(self, known: Known, rows: Iterable[AccountRow]) -> None:
        self.customers: list[CustomerRow] = []
        self.contacts: list[ContactRow] = []
        self.properties: list[PropertyRow] = []
        self.zones: list[ZoneRow] = []
        self.problems: list[Problem] = []
        self._customer_spots: dict[object, int] = {}
        self._property_spots: dict[object, int] = {}
        self._contact_keys: set[object] = set()
        self._billings = _billings(rows)
        self._named: Mapping[tuple[int, str], list[KnownCustomer]] = _grouped(
            ((one.branch_id, folded(one.name)), one) for one in known.customers
        )
        self._places: dict[tuple[int, str], KnownProperty] = {
            (one.customer_id, one.address_key): one for one in known.properties
        }
        self._people: Mapping[int, list[KnownContact]] = _grouped(
            (one.customer_id, one) for one in known.contacts
        )
        self._zones: dict[tuple[int, str], KnownZone] = {
            (one.property_id, folded(one.name)): one for one in known.zones
        }
        self._history: dict[tuple[int, date], KnownHistory] = {
            (one.zone_id, one.applied_on): one for one in known.history
        }

    def take(self, row: AccountRow, branch: int) -> None:
        """Add what this row names first, and its zone."""
        spot = self._property_spots.get((branch, row.property_key))
        if spot is None:
            spot = self._add_property(row, branch)
        place = self.properties[spot].known
        zone = self._zones.get((place.pk, folded(row.zone_name))) if place else None
        history = None
        if zone is not None and row.last_applied_on is not None:
            history = self._history.get((zone.pk, row.last_applied_on))
        planned = ZoneRow(spot, row, zone, history)
        self.zones.append(planned)
        for column, stored, _ in planned.history_differences():
            reason = (
                f"the treatment of {row.last_applied_on} was taken over with "
                f"{stored if stored not in ('', None) else 'nothing'} here. It is kept as it was; "
                "restore the cell."
            )
            self.problems.append(Problem(row.line, column, reason))

    def _add_property(self, row: AccountRow, branch: int) -> int:
        customer = self._customer(row, branch)
        held = self.customers[customer].known
        place = self._places.get((held.pk, row.address_key)) if held else None
        spot = len(self.properties)
        self.properties.append(PropertyRow(customer, branch, row, place))
        self._property_spots[branch, row.property_key] = spot
        self._add_contact(row, customer)
        return spot

    def _customer(self, row: AccountRow, branch: int) -> int:
        known = self._known_customer(row, branch)
        key = known.pk if known else (branch, row.customer_key, self._billing(row))
        spot = self._customer_spots.get(key)
        if spot is None:
            spot = self._customer_spots[key] = len(self.customers)
            self.customers.append(CustomerRow(branch, row, known))
            return spot
        first = self.customers[spot].row
        for column in ("customer_kind", "billing_address"):
            said, before = getattr(row, column), getattr(first, column)
            if said and before and folded(said) != folded(before):
                reason = f"differs from line {first.line} of the same customer."
                self.problems.append(Problem(row.line, column, reason))
        return spot

    def _known_customer(self, row: AccountRow, branch: int) -> KnownCustomer | None:
        """Whose address it is already; else the one of this name with this billing address."""
        named = self._named.get((branch, row.customer_key), [])
        for one in named:
            if (one.pk, row.address_key) in self._places:
                return one
        billing = folded(row.billing_address)
        same = [one for one in named if folded(one.billing_address) == billing]
        if same:
            return same[0]
        only = named[0] if len(named) == 1 else None
        return only if only and not (billing and only.billing_address) else None

    def _billing(self, row: AccountRow) -> str:
        """An empty cell belongs to the one billing address that the file gives for the name."""
        given = self._billings[row.customer_key]
        alone = next(iter(given)) if len(given) == 1 else ""
        return folded(row.billing_address) or alone

    def _add_contact(self, row: AccountRow, customer: int) -> None:
        if not (row.contact_name or row.phone or row.email):
            return
        planned = ContactRow(customer, row, None)
        key = (customer, folded(planned.name), row.phone, row.email.casefold())
        if key in self._contact_keys:
            return
        self._contact_keys.add(key)
        held = self.customers[customer].known
        people = self._people.get(held.pk, []) if held else []
        self.contacts.append(ContactRow(customer, row, _known_contact(planned, people)))


def _known_contact(planned: ContactRow, people: Sequence[KnownContact]) -> KnownContact | None:
    """The same person: everything said is the same, else the only one of the name."""
    named = [one for one in people if folded(one.name) == folded(planned.name)]
    for one in named:
        if not list(ContactRow(planned.customer, planned.row, one).differences()):
            return one
    return named[0] if len(named) == 1 else None


def _billings(rows: Iterable[AccountRow]) -> Mapping[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for row in rows:
        found[row.customer_key] |= {folded(row.billing_address)} - {""}
    return found


def _grouped(pairs: Iterable[tuple[K, T]]) -> dict[K, list[T]]:
    found: dict[K, list[T]] = {}
    for key, one in pairs:
        found.setdefault(key, []).append(one)
    return found
