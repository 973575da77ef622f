"""What is proposed stays five percent under a label's maximum and on a mark below it.

The house of reference/trade.md 1.6: 60 by 40 ft, 3 ft up and 5 ft out, 1,600 sq ft; the label
allows 1.0 fl oz per 1,000 sq ft, so 1.6 fl oz, which is 47.3176473 mL (NIST Handbook 44).
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from scheduling.models import Visit
from tests.factories import client_for, make_visit
from tests.scheduling.field.conftest import TYPED
from tests.treatments.conftest import House, house, make_house
from treatments.models import ApplicationRecord, RecordPersonalValue

__all__ = ["house", "make_house"]
pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _morning() -> Iterator[None]:
    with time_machine.travel(MORNING, tick=False):
        yield


class AtTheHouse:
    """The technician's phone at one stop."""

    def __init__(self, house: House) -> None:
        self.visit: Visit = make_visit(house.place, house.technician)
        self.client: Client = client_for(house.technician)
        self.choice = f"?zone={house.band.pk}&use={house.use.pk}&tank=2&measure=mL-1"

    def mix(self, more: str = "") -> str:
        answer = self.client.get(f"/stops/{self.visit.pk}/mix/{self.choice}{more}")
        return answer.content.decode().replace("\xa0", " ")

    def record(self, amount: str, more: str = "") -> HttpResponse:
        typed = TYPED | {
            "client_ref": str(uuid.uuid4()),
            "product_amount": amount,
            "product_unit": "mL",
            "finished_amount": "1.6",
            "ending": "another",
        }
        return self.client.post(f"/stops/{self.visit.pk}/record/{self.choice}{more}", typed)


def test_the_proposal_is_95_percent_down_to_a_mark(house: House) -> None:
    page = AtTheHouse(house).mix()
    # 95 % of 47.3176473 mL are 44.95 mL; the mark under it is 44
    assert '<span class="main">44 mL</span>' in page and ">45 mL<" not in page
    assert "95 % of the" in page


def test_only_a_reason_raises_it_and_never_above_the_maximum(house: House) -> None:
    stop = AtTheHouse(house)
    refused = stop.mix("&rate=most")
    assert "say why it is needed here, or take a lower rate" in refused
    assert '<span class="main">' not in refused
    raised = stop.mix("&rate=most&reason=Cracked brick")
    # the maximum is 47.3176473 mL: 47 is the mark under it, 48 would be above it
    assert '<span class="main">47 mL</span>' in raised and ">48 mL<" not in raised


def test_the_record_of_what_was_read_is_within_and_one_mark_more_is_not(house: House) -> None:
    stop = AtTheHouse(house)
    assert stop.record("47", "&rate=most&reason=Cracked brick").status_code == 302
    within = ApplicationRecord.objects.latest("pk")
    assert not within.judgements.filter(code="rate", severity="violation").exists()
    notes = RecordPersonalValue.objects.get(record=within, field="notes").value
    assert "Raised to the maximum, 1.00 fl oz per 1,000 sq ft: Cracked brick" in notes
    assert stop.record("48").status_code == 302  # done is done: recorded, and marked
    above = ApplicationRecord.objects.latest("pk")
    assert above.judgements.filter(code="rate", severity="violation").exists()
