"""What a correction must not be, written past the services; two who decide at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from accounts.models import Person
from accounts.refusals import Refused
from tests.treatments.conftest import House
from tests.treatments.correction_cases import (
    LATER,
    ask,
    copy_of,
    corrected,
    is_whole,
)
from tests.treatments.test_log import behind_the_guards
from treatments.models import ApplicationRecord
from treatments.selectors.log import verify
from treatments.services.corrections import approve

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_rows_written_past_the_services_are_refused(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    """No approval, the author's own, an approved addendum, a second follower."""
    author = house.technician
    signed = {"created_by": author, "correction_reason": "x"}
    attacks: list[dict[str, Any]] = [
        {"entry": "correction"} | signed,
        {"entry": "void"} | signed,
        {"entry": "correction", "approved_by": author} | signed,
        {"entry": "addendum", "approved_by": manager} | signed,
    ]
    for attack in attacks:
        with pytest.raises(IntegrityError), transaction.atomic():
            ApplicationRecord.objects.create(**copy_of(record, record, "record") | attack)
    corrected(record, author, manager, wind_mph="4")
    fork = {"entry": "correction", "approved_by": manager} | signed
    with pytest.raises(IntegrityError), transaction.atomic():
        ApplicationRecord.objects.create(**copy_of(record, record, "record") | fork)
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE treatments_applicationrecord SET corrects_id = NULL")


def test_a_tampered_correction_is_found(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    after = corrected(record, house.technician, manager, wind_mph="4")
    behind_the_guards(
        "UPDATE treatments_applicationrecord SET correction_reason = 'Something else.' "
        f"WHERE id = {after.pk}"
    )
    found = verify(house.place.branch_id)
    assert "correction_reason" in found.difference


@pytest.mark.django_db(transaction=True)
def test_of_two_managers_at_once_one_decides(
    house: House, record: ApplicationRecord, manager: Person, second: Person
) -> None:
    request = ask(record, house.technician, product_amount="1.2 fl_oz")
    gate = Barrier(2)

    def decide(person: Person) -> ApplicationRecord | Refused:
        try:
            gate.wait(timeout=20)
            return approve(request_id=request.pk, by=person, now=LATER)
        except Refused as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(decide, (manager, second)))
    assert sorted(isinstance(one, Refused) for one in answers) == [False, True]
    assert [one.code for one in answers if isinstance(one, Refused)] == ["decided"]
    assert ApplicationRecord.objects.effective().count() == 1
    assert ApplicationRecord.objects.count() == 2 and is_whole(house)


@pytest.mark.django_db(transaction=True)
def test_of_two_corrections_at_once_both_stand_in_one_line(
    house: House, record: ApplicationRecord, manager: Person, second: Person
) -> None:
    amount = ask(record, house.technician, product_amount="1.2 fl_oz")
    wind = ask(record, house.technician, wind_mph="4")
    gate = Barrier(2)

    def decide(chosen: tuple[Person, int]) -> None:
        try:
            gate.wait(timeout=20)
            approve(request_id=chosen[1], by=chosen[0], now=LATER)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(decide, ((manager, amount.pk), (second, wind.pk))))
    last = ApplicationRecord.objects.effective().get()
    assert (last.product_amount, last.wind_mph) == ("1.2", "4")
    assert ApplicationRecord.objects.count() == 3 and is_whole(house)
