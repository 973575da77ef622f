"""Bait for mice: traps are asked for first, what was eaten is a number that can be added up.

Product and label are invented (99999-1xx); the questions are house rules, no source.
"""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest

from accounts.models import Person
from scheduling.models import Visit
from sites.rules.places import Geometry, PestGroup, Place
from tests.factories import client_for, make_label, make_pest, make_product, make_zone
from tests.stories.test_safety_questions import TYPED, _ten_in_the_morning, visit, words
from treatments.models import ApplicationRecord, LogEntry
from treatments.rules.questions import amount_of

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
__all__ = ["_ten_in_the_morning", "visit"]
COUNTED = {
    "ask_bait_placements": "6",
    "ask_bait_eaten": "12.5 g",
    "ask_bait_spoiled": "0",
    "ask_bait_removed": "1 placement",
}


def baited(visit: Visit) -> str:
    product = make_product("Demonstration bait", formulation="bait")
    rate = {"rate_basis": "count", "rate_max": Decimal(1), "rate_unit": "oz_wt"}
    none = {"per_gallon": None, "gallons_per_1000": None}
    places = {"methods": ["bait"], "places": [Place.INTERIOR_SPOT]}
    mouse = make_pest("House mouse", PestGroup.RODENTS)
    use = make_label(product, pests=[mouse], use=rate | none | places)
    zone = make_zone(
        visit.property, "Stations", "6", geometry=Geometry.COUNT, place=Place.INTERIOR_SPOT
    )
    return f"zone={zone.pk}&use={use.pk}&tank=1"


def test_bait_is_counted_with_its_record(visit: Visit, technician: Person, manager: Person) -> None:
    query, client = baited(visit), client_for(technician)
    page = words(client.get(f"/stops/{visit.pk}/mix/?{query}").content)
    assert "Were traps and sealing offered first?" in page
    assert "At a school or day care: did the certified applicator decide" in page
    assert "Bait eaten" not in page  # known only when the work is done

    path = f"/stops/{visit.pk}/record/?{query}"
    form = TYPED | COUNTED | {"client_ref": str(uuid.uuid4()), "product_amount": "6"}
    form |= {"product_unit": "oz_wt", "ask_traps_first": "yes"}
    spoiled = client.post(path, form | {"ask_bait_eaten": "some"})
    assert spoiled.status_code == 422
    assert "Write the number and g, oz, lb or placements: some" in words(spoiled.content)
    assert 'value="some"' in spoiled.content.decode()  # nothing typed is lost
    answer = client.post(path, form)
    assert answer.status_code == 302, words(answer.content)

    record = ApplicationRecord.objects.get()
    kept = dict(record.answers.values_list("code", "answer"))
    assert kept["bait_placements"] == "6 each"
    assert amount_of(kept["bait_eaten"]).exact == Decimal(12_500)  # mg
    assert (kept["bait_spoiled"], kept["bait_removed"]) == ("0 each", "1 each")
    shown = words(client_for(manager).get(f"/record/{record.pk}/").content)
    for said in ("6 placements", "12.5 g", "1 placement"):
        assert said in shown
    assert b"12.5 g" in bytes(LogEntry.objects.get(record=record).leaf)
