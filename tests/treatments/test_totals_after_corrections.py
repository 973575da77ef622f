"""Totals follow what the services write: a filled gap, an approved correction, a void."""

from __future__ import annotations

import uuid

import pytest

from accounts.models import Person
from tests.treatments.conftest import NOW, House
from tests.treatments.test_totals import HOUSE_UL, compared
from tests.treatments.total_cases import recorded, scope_of
from treatments.rules.totals import Tally
from treatments.services.addenda import fill_gap
from treatments.services.corrections import approve, ask_correction, ask_void

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_a_filled_gap_counts_once(house: House) -> None:
    record = recorded(house, 3, product_amount=None, finished_amount=None)
    assert compared(scope_of(house)).log == Tally(1)
    fill_gap(
        record_id=record.pk,
        facts={"product_amount": "1.6 fl_oz"},
        by=house.technician,
        now=NOW,
        client_ref=uuid.uuid4(),
    )
    answer = compared(scope_of(house))
    assert answer.is_whole and answer.log == Tally(1, 1, 0, HOUSE_UL, 0)


def test_an_approved_correction_and_a_void_move_totals_and_log_alike(
    house: House, manager: Person, second: Person
) -> None:
    one, two = recorded(house, 20), recorded(house, 10)
    asked = ask_correction(
        record_id=one.pk,
        facts={"product_amount": "1.2 fl_oz"},
        reason="Read the wrong line",
        by=second,
        now=NOW,
    )
    # asked for and not approved: without effect
    assert compared(scope_of(house)).log == Tally(2, 2, 0, 2 * HOUSE_UL, 0)
    approve(request_id=asked.pk, by=manager, now=NOW)
    void = ask_void(record_id=two.pk, reason="Recorded twice", by=second, now=NOW)
    approve(request_id=void.pk, by=manager, now=NOW)
    answer = compared(scope_of(house))
    # 1.2 fl oz are 35,488.2355 uL
    assert answer.is_whole and answer.log == Tally(1, 1, 0, 35_488, 0)
