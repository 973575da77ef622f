"""Whatever is recorded, completed, corrected and voided, in whichever order: what counts is what
a walk through every history, entry by entry, counts."""

from __future__ import annotations

import uuid
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from accounts.models import Person
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import LATER
from tests.treatments.stock_cases import Shelf, shelf
from treatments.models import ApplicationRecord, StockMove
from treatments.rules.applications import Entered
from treatments.rules.effective import (
    EntryKind,
    Link,
    chain_of,
    effective_keys,
    in_force,
    is_late,
)
from treatments.selectors.log import verify
from treatments.selectors.records import UseLogFilter, effective_records, totals
from treatments.selectors.stock_agreement import compare_use
from treatments.selectors.windows import protection_drift, windows_of
from treatments.services.addenda import fill_gap
from treatments.services.corrections import approve, ask_correction, ask_void
from treatments.services.recording import record_application

__all__ = ["shelf"]

FL_OZ = Decimal("29573.5295625")  # NIST Handbook 44, Appendix C
steps = st.lists(
    st.tuples(
        st.sampled_from(["record", "addendum", "correction", "void"]),
        st.integers(0, 9),
        st.sampled_from(["0.5", "1.6", "2.25"]),
    ),
    min_size=1,
    max_size=7,
)


class Undone(Exception):
    """Takes back what one example wrote."""


@pytest.mark.engine
@pytest.mark.django_db
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(steps)
def test_what_counts_equals_a_replay(shelf: Shelf, taken: list[tuple[str, int, str]]) -> None:
    with pytest.raises(Undone), transaction.atomic():
        _play(shelf, taken)
        raise Undone


def _play(shelf: Shelf, taken: list[tuple[str, int, str]]) -> None:
    house = shelf.house
    shelf.load(shelf.receive(uuid.uuid4().hex[:8]), "20")
    said: list[dict[str, Any]] = []
    for step, which, amount in taken:
        _step(house, shelf.manager, said, step, which, amount)
    counted = [one for one in said if not one["void"]]
    expected = sum((_ul(one["amount"]) for one in counted), 0)
    assert effective_records().count() == len(counted)
    assert sum(one.product_ul or 0 for one in effective_records()) == expected
    assert [one.applications for one in totals(UseLogFilter())] == [len(counted)] * bool(counted)
    assert sum(move.quantity for move in StockMove.objects.filter(kind="use")) == expected
    found = compare_use(shelf.manager, date(2026, 1, 1))
    assert found.is_whole
    assert sum(map(len, windows_of([house.band.pk]).values())) == len(counted)
    assert protection_drift() == []
    assert verify(house.place.branch_id).difference == ""


def _ul(amount: str) -> int:
    return int((Decimal(amount) * FL_OZ).quantize(Decimal(1))) if amount else 0


def _step(
    house: House, manager: Person, said: list[dict[str, Any]], step: str, which: int, amount: str
) -> None:
    """Take one step in the rows and in the replay; what cannot be taken is left out."""
    if step == "record" or not said:
        given = Entered(amount, "fl_oz") if which % 3 else None
        made = record_application(
            application=house.application(product_amount=given), by=house.technician, now=NOW
        )
        said.append({"pk": made.record.pk, "amount": amount if given else "", "void": False})
        return
    one = said[which % len(said)]
    if one["void"] or (step == "addendum" and one["amount"]):
        return
    if step == "correction" and one["amount"] == amount:
        return
    one["pk"] = _later(one["pk"], step, amount, house.technician, manager).pk
    one |= {"void": True} if step == "void" else {"amount": amount}


def _later(pk: int, step: str, amount: str, by: Person, manager: Person) -> ApplicationRecord:
    facts: dict[str, Any] = {"product_amount": f"{amount} fl_oz"}
    said = {"record_id": pk, "by": by, "now": LATER}
    if step == "addendum":
        return fill_gap(facts=facts, client_ref=uuid.uuid4(), **said)
    asked = (
        ask_void(reason="Recorded twice.", **said)
        if step == "void"
        else ask_correction(facts=facts, reason="Read from the wrong line.", **said)
    )
    return approve(request_id=asked.pk, by=manager, now=LATER)


# each entry follows a random earlier one that nothing follows and that is no void
@st.composite
def histories(draw: st.DrawFn) -> list[Link]:
    links: list[Link] = []
    for key in range(1, draw(st.integers(1, 12)) + 1):
        followed = {one.follows for one in links}
        free = [one.key for one in links if one.key not in followed and one.kind != EntryKind.VOID]
        follows = draw(st.sampled_from([None, *free]))
        later = [kind for kind in EntryKind if kind != EntryKind.RECORD]
        kind = EntryKind.RECORD if follows is None else draw(st.sampled_from(later))
        links.append(Link(key, kind, follows))
    return links


@given(histories())
def test_the_last_entry_of_each_history_counts_unless_it_is_a_void(links: list[Link]) -> None:
    chains = {chain_of(links, one.key) for one in links}
    assert Counter(link.key for chain in chains for link in chain) == {one.key: 1 for one in links}
    last = {found.key for chain in chains if (found := in_force(chain)) is not None}
    assert effective_keys(links) == last


def test_a_fork_and_a_circle_are_no_history() -> None:
    fork = [Link(1, EntryKind.RECORD), Link(2, EntryKind.VOID, 1), Link(3, EntryKind.ADDENDUM, 1)]
    with pytest.raises(ValueError, match="followed twice"):
        chain_of(fork, 1)
    circle = [Link(1, EntryKind.ADDENDUM, 2), Link(2, EntryKind.ADDENDUM, 1)]
    with pytest.raises(ValueError, match="follows itself"):
        chain_of(circle, 1)


@pytest.mark.parametrize(("days", "late"), [(0, False), (14, False), (15, True)])
def test_an_entry_is_late_after_fourteen_days(days: int, late: bool) -> None:
    """House rule."""
    entered = datetime(2026, 11, 1, 12, tzinfo=UTC) + timedelta(days=days)
    assert is_late(date(2026, 11, 1), entered) is late
