"""The log holds each mixing and each rest of a load: what is changed or missing is found."""

from __future__ import annotations

import json
import uuid

import pytest

from accounts.models import Person
from accounts.refusals import Refused
from tests.factories import make_load
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import mixed, settled, used
from tests.treatments.test_log import behind_the_guards
from treatments.models import LoadRest, LogEntry
from treatments.rules.applications import Entered
from treatments.rules.load_entries import Leftover
from treatments.selectors.log import verify
from treatments.services.loads import end_load, settle_load

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def disposed(house: House) -> LoadRest:
    """A load with one use, the rest disposed of."""
    load = mixed(house)
    used(house, load)
    return settled(house, load, "disposed", "2.4", how="Collection day", where="8 Mill Road")


def test_mixing_and_ending_are_leaves_of_the_branchs_log(house: House) -> None:
    rest = disposed(house)
    kinds = list(LogEntry.objects.order_by("seq").values_list("kind", flat=True))
    assert kinds == ["load", "record", "load_rest"]
    assert verify(house.place.branch_id).is_whole
    said = json.loads(bytes(LogEntry.objects.get(kind="load_rest").leaf))
    assert (said["actor"], said["payload"]["rest"]["ul"]) == (house.technician.pk, rest.ul)
    # where it was disposed of may name somebody: only its salted digest is there
    assert set(said["payload"]["words"]) == {"disposed_how", "disposed_where"}
    assert "8 Mill Road" not in json.dumps(said)


def test_the_same_again_adds_no_leaf(house: House) -> None:
    load = mixed(house)
    leftover = Leftover(uuid.uuid4(), "none")
    for _ in range(2):
        settle_load(load_id=load.pk, leftover=leftover, by=house.technician, now=NOW)
    assert LogEntry.objects.filter(kind="load_rest").count() == 1


@pytest.mark.parametrize(
    ("statement", "difference"),
    [
        (
            "UPDATE treatments_load SET finished_ul = 9",
            "Leaf 0: payload.load.finished_ul is 9 in the table and 15141647 in the log.",
        ),
        (
            "UPDATE treatments_loadrest SET ul = 9",
            "Leaf 2: payload.rest.ul is 9 in the table and 9084988 in the log.",
        ),
        (
            "UPDATE treatments_loadrest SET disposed_where = 'Depot'",
            "payload.words.disposed_where is",
        ),
        ("DELETE FROM treatments_loadrest", "Leaf 2: load_rest {rest} is not in the table."),
    ],
)
def test_a_change_behind_the_guards_is_found(house: House, statement: str, difference: str) -> None:
    rest = disposed(house)
    behind_the_guards(statement)
    found = verify(house.place.branch_id)
    assert not found.is_whole
    assert difference.format(rest=rest.pk) in found.difference


def test_loads_from_before_the_leaves_need_none_and_later_ones_do(house: House) -> None:
    branch = house.place.branch_id
    old = make_load(house.technician, house.use)
    LoadRest.objects.create(
        client_ref=uuid.uuid4(), client_digest="0" * 64, load=old, kind="none", amount="0",
        unit="gal", ul=0, difference_ul=0, at=NOW,
    )  # fmt: skip
    assert verify(branch).is_whole
    load = mixed(house)
    assert verify(branch).is_whole
    bare = LoadRest.objects.create(
        client_ref=uuid.uuid4(), client_digest="0" * 64, load=load, kind="none", amount="0",
        unit="gal", ul=0, difference_ul=0, at=NOW,
    )  # fmt: skip
    assert verify(branch).difference == f"Rest {bare.pk} of load {load.pk} has no leaf in the log."


def test_a_later_load_without_a_leaf_is_found(house: House) -> None:
    mixed(house)
    bare = make_load(house.technician, house.use)
    assert verify(house.place.branch_id).difference == f"Load {bare.pk} has no leaf in the log."


def test_an_old_load_ended_now_has_its_leaf(house: House) -> None:
    old = make_load(house.technician, house.use)
    settled(house, old, "none")
    found = verify(house.place.branch_id)
    assert (found.is_whole, found.size) == (True, 1)


def test_a_manager_ends_the_load_of_somebody_who_left(house: House, manager: Person) -> None:
    load = mixed(house)
    Person.objects.filter(pk=house.technician.pk).update(is_active=False)
    said = {"load_id": load.pk, "by": manager, "now": NOW}
    four = Entered("4", "gal")
    with pytest.raises(Refused, match="Say why you end") as refused:
        end_load(leftover=Leftover(uuid.uuid4(), "none"), **said)
    assert refused.value.facts["field"] == "reason"
    with pytest.raises(Refused, match="A manager ends a load"):
        end_load(leftover=Leftover(uuid.uuid4(), "kept", four, reason="Left"), **said)
    rest = end_load(
        leftover=Leftover(uuid.uuid4(), "disposed", four, "Bagged", "Depot", reason="Left"), **said
    )
    assert (rest.reason, rest.created_by, rest.difference_ul) == ("Left", manager, 0)
    assert verify(load.branch_id).is_whole
    with pytest.raises(Refused, match="has ended already"):
        end_load(leftover=Leftover(uuid.uuid4(), "none", reason="Again"), **said)


def test_only_a_manager_of_the_branch_ends_it(
    house: House, office: Person, manager: Person
) -> None:
    load = mixed(house)
    leftover = Leftover(uuid.uuid4(), "none", reason="Left")
    with pytest.raises(Refused, match="role"):
        end_load(load_id=load.pk, leftover=leftover, by=office, now=NOW)
    with pytest.raises(Refused, match="no such load in your branches"):
        end_load(load_id=0, leftover=leftover, by=manager, now=NOW)
    assert not LoadRest.objects.exists()
