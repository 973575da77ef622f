"""Many writers, one log: the sequence has no gap and nothing is doubled."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import connection, transaction

from accounts.models import Person
from accounts.refusals import Refused
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, LabelLimit, LabelUse, LogEntry
from treatments.rules.applications import Application, Entered
from treatments.selectors.log import verify
from treatments.selectors.windows import protection_drift
from treatments.services.recording import Recorded, record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
WRITERS = 4


def at_once(house: House, applications: list[Application]) -> list[Recorded | Refused]:
    """Record all of them from several threads; a refusal is an answer too."""

    def record(application: Application) -> Recorded | Refused:
        try:
            return record_application(application=application, by=house.technician, now=NOW)
        except Refused as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(WRITERS) as pool:
        return list(pool.map(record, applications))


def test_the_sequence_has_no_gap(make_house: Callable[..., House]) -> None:
    houses = [make_house(street=f"{number} Mill Road") for number in range(WRITERS)]
    at_once(houses[0], [house.application() for house in houses for _ in range(4)])
    seqs = list(LogEntry.objects.order_by("seq").values_list("seq", flat=True))
    assert seqs == list(range(16))
    found = verify(houses[0].place.branch_id)
    assert (found.size, found.difference) == (16, "")
    assert protection_drift() == []


def test_one_record_sent_four_times_is_stored_once(house: House) -> None:
    application = house.application()
    answers = at_once(house, [application] * WRITERS)
    assert all(isinstance(answer, Recorded) for answer in answers)
    assert sorted(answer.is_replay for answer in answers if isinstance(answer, Recorded)) == [
        False,
        True,
        True,
        True,
    ]
    assert ApplicationRecord.objects.count() == LogEntry.objects.count() == 1


def test_one_reference_at_two_properties_is_stored_once(
    make_house: Callable[..., House],
) -> None:
    houses = [make_house(street=f"{number} Mill Road") for number in range(WRITERS)]
    one = houses[0].application()
    others = [house.application(client_ref=one.client_ref) for house in houses]
    answers = at_once(houses[0], others)
    assert sum(isinstance(answer, Recorded) for answer in answers) == 1
    refused = [answer.code for answer in answers if isinstance(answer, Refused)]
    assert refused == ["reused_reference"] * 3
    assert list(LogEntry.objects.values_list("seq", flat=True)) == [0]


def both_at_once(house: House, other: Person) -> list[Recorded]:
    """Two technicians record the same work at the same moment."""
    gate = Barrier(2)

    def record(person: Person) -> Recorded:
        try:
            gate.wait(timeout=20)
            mine = house.application(applicator_id=person.pk)
            return record_application(application=mine, by=person, now=NOW)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(record, (house.technician, other)))


def test_of_two_technicians_at_one_house_the_second_is_judged_with_the_first(
    house: House, other_technician: Person
) -> None:
    LabelUse.objects.update(uses_per_year=1, min_interval_days=0)
    found = both_at_once(house, other_technician)
    uses = [one.severity for done in found for one in done.judgements if one.code == "uses"]
    assert sorted(uses) == ["note", "violation"]


@pytest.mark.parametrize(
    ("fact", "limit", "unit", "code"),
    [
        # derived: 1.6 fl oz on 1,600 sq ft are 1 fl oz per 1,000, once; and 0.226875 lb per acre
        # (2/3 lb per gallon, reference/trade.md 1.6): each limit holds one use and not two
        ("product_per_area_year", "1.5", "fl_oz", "product_year"),
        ("ingredient_per_acre_year", "0.3", "", "ingredient"),
    ],
)
def test_of_two_technicians_at_once_one_passes_an_amount_of_a_year(
    house: House, other_technician: Person, fact: str, limit: str, unit: str, code: str
) -> None:
    LabelUse.objects.update(min_interval_days=0)
    LabelLimit.objects.create(
        label_version=house.use.label_version, fact=fact, comparison="at_most",
        limit=Decimal(limit), severity="refuse", sentence="So much a year.",
        page="p. 6", unit=unit,
    )  # fmt: skip
    found = both_at_once(house, other_technician)
    over = [
        sum(one.severity == "violation" and one.code == code for one in done.judgements)
        for done in found
    ]
    assert sorted(over) == [0, 1]


def test_what_fails_afterwards_leaves_no_gap(house: House) -> None:
    with pytest.raises(RuntimeError), transaction.atomic():
        record_application(application=house.application(), by=house.technician, now=NOW)
        raise RuntimeError("the visit could not be finished")
    record_application(
        application=house.application(product_amount=Entered("1.5", "fl_oz")),
        by=house.technician,
        now=NOW,
    )
    assert list(LogEntry.objects.values_list("seq", flat=True)) == [0]
    assert verify(house.place.branch_id).is_whole
