"""An attic fogged, a void filled, a crack dusted: what is asked, what a "no" does, what is kept.

Products and labels are invented (99999-1xx); the questions are common practice, no source.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from decimal import Decimal

import pytest
import time_machine

from accounts.models import Branch, Person
from scheduling.models import Visit
from sites.models import TreatableZone
from sites.rules.places import Geometry, PestGroup, Place
from tests.attacks import DELETES, UPDATES, refused
from tests.factories import (
    client_for,
    make_customer,
    make_label,
    make_pest,
    make_product,
    make_property,
    make_visit,
    make_zone,
)
from treatments.models import ApplicationRecord, LabelUse, LogEntry, SafetyAnswer
from treatments.rules.safety_questions import DUST, ENCLOSED, KNOWN_AFTERWARDS

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
SAFE = {f"ask_{one.code}": "yes" for one in (*ENCLOSED, *DUST)} | {"ask_space_volume": "yes"}
DONE = SAFE | {
    "ask_aquaria_covered": "not_applicable",
    "ask_closed_from_to": "9:30 to 11:30",
    "ask_aired_from_to": "11:30 to 12:30",
    "ask_cleared_by": "Terry Technician, 12:40",
}
TYPED = {
    "product_unit": "fl_oz",
    "finished_unit": "gal",
    "started": "09:30",
    "finished": "09:54",
    "protective_equipment": "on",
    "ending": "another",
}


@pytest.fixture(autouse=True)
def _ten_in_the_morning() -> Iterator[None]:
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        yield


@pytest.fixture
def visit(branch_ohio: Branch, technician: Person) -> Visit:
    place = make_property(make_customer(branch_ohio))
    return make_visit(place, technician)


def attic(visit: Visit) -> tuple[TreatableZone, LabelUse, str]:
    """30 x 20 x 5 ft of attic: 3,000 cu ft, an aerosol of 1 fl oz in 1,000 cu ft, against flies."""
    zone = make_zone(
        visit.property, "Attic", "30", "5", "20", geometry=Geometry.VOLUME, place=Place.ATTIC
    )
    use = made("aerosol", "space", Place.ATTIC, rate_basis="space_volume", rate_max=Decimal(1))
    return zone, use, "1"


def void(visit: Visit) -> tuple[TreatableZone, LabelUse, str]:
    zone = make_zone(visit.property, "Wall void", geometry=Geometry.LINEAR, place=Place.VOID)
    return zone, made("foam", "void", Place.VOID, rate_basis="linear", rate_max=Decimal(1)), "1"


def dust(visit: Visit) -> tuple[TreatableZone, LabelUse, str]:
    zone = make_zone(visit.property, "Sill crack", geometry=Geometry.LINEAR, place=Place.VOID)
    use = made("dust", "dust", Place.VOID, rate_basis="linear", rate_max=Decimal(1))
    return zone, use, "1"


def made(formulation: str, method: str, place: Place, **rate: object) -> LabelUse:
    direction = {"methods": [method], "places": [place], "rate_unit": "fl_oz"} | rate
    direction |= {"per_gallon": None, "gallons_per_1000": None}
    product = make_product(f"Demonstration {formulation}", formulation=formulation)
    return make_label(product, pests=[make_pest("", PestGroup.FLIES)], use=direction)


def words(page: bytes) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.decode().replace("\xa0", " ")))


@pytest.mark.parametrize("work", [attic, void, dust])
def test_asked_refused_and_kept(
    visit: Visit, technician: Person, manager: Person, work: object
) -> None:
    zone, use, amount = work(visit)  # type: ignore[operator]
    client = client_for(technician)
    choice = {"zone": zone.pk, "use": use.pk, "tank": "1"}
    asked = [*ENCLOSED, *(DUST if work is dust else ())]

    def mix(**answers: str) -> str:
        return words(client.get(f"/stops/{visit.pk}/mix/", choice | answers).content)

    unanswered = mix()
    for question in asked:
        assert f"Not answered: {question.words}" in unanswered
    assert "Who cleared it" not in unanswered  # known only when the work is done
    for question in asked:
        refused = mix(**SAFE | {f"ask_{question.code}": "no"})
        assert f"{question.if_no}" in refused
        assert "Refused before mixing" in refused
    assert "Allowed" in mix(**SAFE)
    assert "Not answered" not in mix(**SAFE)

    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    form = TYPED | DONE | {"client_ref": str(uuid.uuid4()), "product_amount": amount}
    assert "Who cleared it for entry, and when" in words(client.get(path).content)
    spoiled = client.post(path, form | {"product_amount": "lots"})
    assert spoiled.status_code == 422
    assert 'value="Terry Technician, 12:40"' in spoiled.content.decode()  # nothing typed is lost
    answer = client.post(path, form)
    assert answer.status_code == 302, words(answer.content)
    kept(ApplicationRecord.objects.get(), manager, len(asked))


def kept(record: ApplicationRecord, manager: Person, asked: int) -> None:
    codes = set(record.answers.values_list("code", flat=True))
    assert len(codes) == asked + 1 + len(KNOWN_AFTERWARDS)
    assert not record.judgements.filter(severity__in=["violation", "warn"]).exists()
    page = words(client_for(manager).get(f"/record/{record.pk}/").content)
    for said in ("Are people and pets out", "Does not apply", "11:30 to 12:30", "12:40"):
        assert said in page
    assert "Answered: yes" not in page  # said once, as an answer
    leaf = bytes(LogEntry.objects.get(record=record).leaf)
    assert b"people_out" in leaf
    assert b"12:40" not in leaf  # times and a name stand there only as a salted digest
    row = record.answers.first()
    assert row is not None
    for attack in (*UPDATES, *DELETES):
        refused(attack, row)


def test_a_no_after_the_fact_is_recorded_and_marked(visit: Visit, technician: Person) -> None:
    zone, use, amount = void(visit)
    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    form = TYPED | {"client_ref": str(uuid.uuid4()), "product_amount": amount}
    answer = client_for(technician).post(path, form | {"ask_people_out": "no"})
    assert answer.status_code == 302
    found = dict(ApplicationRecord.objects.get().judgements.values_list("code", "severity"))
    assert found["people_out"] == "violation"
    assert found["cleared_by"] == "warn"
    assert SafetyAnswer.objects.get().answer == "no"


@pytest.mark.parametrize(
    "answers",
    [{"ask_people_out": "perhaps"}, {"ask_cleared_by": "x" * 201}, {"ask_cleared_by": "\x07"}],
)
def test_what_is_no_answer_is_refused_and_stores_nothing(
    visit: Visit, technician: Person, answers: dict[str, str]
) -> None:
    zone, use, amount = void(visit)
    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    form = TYPED | answers | {"client_ref": str(uuid.uuid4()), "product_amount": amount}
    assert client_for(technician).post(path, form).status_code == 422
    assert not ApplicationRecord.objects.exists()


def test_fogging_is_refused_against_what_overwinters(visit: Visit, technician: Person) -> None:
    zone, use, _ = attic(visit)
    use.pests.set([make_pest("Cluster fly", PestGroup.OVERWINTERING)])
    choice = {"zone": zone.pk, "use": use.pk, "tank": "1"} | SAFE
    page = words(client_for(technician).get(f"/stops/{visit.pk}/mix/", choice).content)
    assert "A space treatment does not reach Cluster fly in attics and walls." in page
    assert "Refused before mixing" in page
