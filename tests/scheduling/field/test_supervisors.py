"""Restricted use by somebody who is not certified: the supervisor is named with the record.

40 CFR 171.201 (read): a certified applicator supervises; the reference, 7.4: FED, restricted use,
technician without supervisor fails.
"""

from __future__ import annotations

import json
from datetime import date

import pytest

from accounts.models import ApplicatorLicense, Branch, Person
from accounts.permissions import Role
from tests.factories import make_label, make_license, make_person, make_product
from tests.papers import make_training
from tests.scheduling.field.conftest import Stop
from treatments.models import ApplicationRecord, LabelUse, LogEntry

pytestmark = pytest.mark.django_db


@pytest.fixture
def choice(stop: Stop, technician: Person) -> str:
    ApplicatorLicense.objects.filter(person=technician).update(kind="registered_technician")
    use = make_label(make_product(is_restricted_use=True))
    return f"?zone={stop.zone.pk}&use={use.pk}&tank=1"


def certified(branch: Branch, name: str, state: str = "OH") -> Person:
    person = make_person([Role.TECHNICIAN], branch, name)
    make_license(person, state, number=f"SUP-{state}", categories="10a")
    return person


def record_of(stop: Stop) -> ApplicationRecord:
    return ApplicationRecord.objects.get(visit_ref=str(stop.visit.ref))


def test_the_supervisor_is_frozen_with_number_and_category(
    stop: Stop, choice: str, branch_ohio: Branch
) -> None:
    chief = certified(branch_ohio, "Carla Certified")
    certified(branch_ohio, "Peter Pennsylvania", "PA")
    page = stop.client.get(f"{stop.path}record/{choice}").content.decode()
    assert "Carla Certified, SUP-OH, category 10a" in page
    assert "Peter Pennsylvania" not in page
    assert stop.send(choice, supervisor=str(chief.pk)).status_code == 302
    record = record_of(stop)
    assert record.supervisor_license_number == "SUP-OH"
    assert record.supervisor_category == "10a"
    assert record.personal_values.get(field="supervisor_name").value == "Carla Certified"
    assert record.judgements.get(code="restricted").severity == "note"
    leaf = json.loads(bytes(LogEntry.objects.get(record=record).leaf))["payload"]
    assert leaf["record"]["supervisor_category"] == "10a"
    assert "supervisor_name" in leaf["personal"]


def test_nobody_named_is_a_violation(stop: Stop, choice: str) -> None:
    assert stop.send(choice, supervisor="").status_code == 302
    record = record_of(stop)
    assert record.supervisor_license_number == ""
    assert record.judgements.get(code="restricted").severity == "violation"


def test_somebody_who_is_not_offered_is_not_taken(
    stop: Stop, choice: str, branch_ohio: Branch
) -> None:
    other = certified(branch_ohio, "Peter Pennsylvania", "PA")
    assert stop.send(choice, supervisor=str(other.pk)).status_code == 422


def test_a_certified_applicator_names_nobody(stop: Stop) -> None:
    use = make_label(make_product(is_restricted_use=True))
    path = f"{stop.path}record/?zone={stop.zone.pk}&use={use.pk}&tank=1"
    assert "who supervises" not in stop.client.get(path).content.decode()


@pytest.fixture
def trained(technician: Person) -> Person:
    make_training(technician, date(2026, 11, 1))
    return technician


def test_who_supervises_today_is_named_before_mixing(
    stop: Stop, choice: str, branch_ohio: Branch, trained: Person
) -> None:
    """The license names nobody: the mix is refused until somebody certified is named."""
    chief = certified(branch_ohio, "Carla Certified")
    before = stop.mix(choice).content.decode()
    assert "Refused" in before and "Carla Certified, SUP-OH, category 10a" in before
    named = f"{choice}&supervisor={chief.pk}"
    page = stop.mix(named).content.decode()
    assert "Supervised by</dt><dd>Carla Certified" in page
    assert "Restricted use, under a certified supervisor" in page and ">Refused<" not in page
    record = stop.client.get(f"{stop.path}record/{named}").content.decode()
    assert f'<option value="{chief.pk}" selected>' in record


@pytest.mark.parametrize("who", ["other state", "nonsense", "oneself"])
def test_nobody_else_is_taken_for_a_supervisor_on_the_mix(
    stop: Stop, choice: str, branch_ohio: Branch, trained: Person, who: str
) -> None:
    other = certified(branch_ohio, "Peter Pennsylvania", "PA")
    key = {"other state": other.pk, "nonsense": "x", "oneself": trained.pk}[who]
    page = stop.mix(f"{choice}&supervisor={key}").content.decode()
    assert ">Refused<" in page and "Supervised by" not in page


def test_the_second_product_of_a_tank_asks_for_a_supervisor_too(
    stop: Stop, choice: str, branch_ohio: Branch, trained: Person
) -> None:
    chief = certified(branch_ohio, "Carla Certified")
    restricted = choice.split("use=")[1].split("&")[0]
    pests = list(LabelUse.objects.get(pk=restricted).pests.all())
    plain = make_label(make_product(), pests=pests)
    both = f"?zone={stop.zone.pk}&use={plain.pk}&also={restricted}&tank=1"
    assert ">Refused<" in stop.mix(both).content.decode()
    page = stop.mix(f"{both}&supervisor={chief.pk}").content.decode()
    assert "Supervised by</dt><dd>Carla Certified" in page and ">Refused<" not in page


def test_who_is_not_certified_names_a_supervisor_for_either_product(
    stop: Stop, technician: Person, branch_ohio: Branch
) -> None:
    """The tank is put out at once: who may apply the one must be who may apply the other."""
    ApplicatorLicense.objects.filter(person=technician).update(kind="registered_technician")
    certified(branch_ohio, "Carla Certified")
    product = make_product("Demonstration P WP", formulation="wp", is_restricted_use=True)
    use = {"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None}
    other = make_label(product, pests=list(stop.use.pests.all()), use=use)
    path = f"{stop.path}record/{stop.choice}"
    assert "who supervises" not in stop.client.get(path).content.decode()
    page = stop.client.get(f"{path}&also={other.pk}").content.decode()
    assert "Carla Certified, SUP-OH, category 10a" in page
    # before mixing both are judged
    mix = stop.client.get(f"{stop.path}mix/{stop.choice}&also={other.pk}").content.decode()
    assert "restricted use and you are not certified" in mix
