"""Loads on the phone: put on board at the mix, named by a record, ended on their own page."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone

from accounts.models import Person
from tests.factories import (
    TODAY,
    client_for,
    make_label,
    make_load,
    make_product,
    make_visit,
    make_zone,
)
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_pages import asked, text
from tests.scheduling.views.rows import due_place
from treatments.models import (
    ApplicationRecord,
    Equipment,
    LabelLimit,
    Load,
    LoadRest,
    LogEntry,
)

pytestmark = pytest.mark.django_db
TANK = {
    "product_amount": "0.8",
    "product_unit": "fl_oz",
    "finished_amount": "1",
    "finished_unit": "gal",
    "mixed": "09:10",
    "equipment": "1-gal hand can",
}
FROM_LOAD = {"product_amount": "", "finished_amount": "0.6"}


def mix(stop: Stop, **typed: Any) -> HttpResponse:
    form = TANK | {"client_ref": str(uuid.uuid4())} | typed
    return stop.client.post(f"{stop.path}mix/load/{stop.choice}", form)


def mixed(stop: Stop) -> Load:
    assert mix(stop).status_code == 302
    return Load.objects.latest("pk")


def test_a_mixed_load_is_on_board_everywhere(stop: Stop) -> None:
    assert "Put this load on board" in text(stop.mix())
    load = mixed(stop)
    assert (load.finished_ul, load.product_ul, load.equipment) == (
        3_785_412,
        23_659,
        "1-gal hand can",
    )
    assert load.mixed_at == datetime.fromisoformat("2026-11-25T14:10:00Z")
    assert load.visit_ref == str(stop.visit.ref)
    for path in ("/today/", stop.path, f"{stop.path}mix/{stop.choice}"):
        page = text(stop.client.get(path))
        assert "Loads on board" in page
        assert "1.00 gal left" in page
        assert "0.80 fl oz in each gallon, mixed 9:10 AM on Nov 25" in page


def test_hours_of_a_row_that_warns_are_said_of_the_load(stop: Stop) -> None:
    LabelLimit.objects.create(
        label_version=stop.use.label_version, fact="mixed_hours", comparison="at_most", limit=24,
        severity="warn", sentence="Use within 24 hours.", page="p. 6",
    )  # fmt: skip
    load = mixed(stop)
    said = "he label says 24 hours, until 9:10 AM on Nov 26, in a row that only warns"
    for path in ("/today/", f"/loads/{load.pk}/"):
        assert said in text(stop.client.get(path)).replace("&nbsp;", " ").replace("\xa0", " ")


def test_the_same_mixing_sent_twice_is_one_load(stop: Stop) -> None:
    reference = str(uuid.uuid4())
    first, again = (mix(stop, client_ref=reference) for _ in range(2))
    assert (first.status_code, first.url) == (again.status_code, again.url)
    assert Load.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"product_amount": ""}, "write the product you measured"),
        ({"product_amount": "a lot"}, "is not a number"),
        ({"finished_amount": "0"}, "The amount is missing"),
        ({"mixed": "10:30"}, "mixed in the future"),
        ({"client_ref": "x"}, "lost its number"),
        ({"sprayer": "1"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_mixed_comes_back_as_typed(
    stop: Stop, typed: dict[str, str], sentence: str
) -> None:
    answer = mix(stop, **typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert 'value="1-gal hand can"' in text(answer)
    assert not Load.objects.exists()


def test_nothing_is_mixed_for_what_the_label_refuses(stop: Stop) -> None:
    eaves = make_zone(stop.visit.property, place="eave_soffit")
    choice = f"?zone={eaves.pk}&use={stop.use.pk}&tank=1"
    answer = stop.client.post(f"{stop.path}mix/load/{choice}", TANK)
    assert (answer.status_code, Load.objects.count()) == (422, 0)


def test_a_record_names_the_load_and_only_the_spray_is_typed(stop: Stop) -> None:
    load = mixed(stop)
    link = f"&amp;load={load.ref}"
    assert link in text(stop.mix())
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}&load={load.ref}"))
    assert f'<option value="{load.ref}" selected>' in page
    form = FROM_LOAD | {"load": load.ref}
    shown = text(stop.send(**form, work_out="yes"))
    # 0.6 gal of 0.8 fl oz a gallon
    assert "that is 0.480 fl oz of undiluted product" in shown
    assert 'value="0.6"' in shown
    assert not ApplicationRecord.objects.filter(load_ref=load.ref).exists()
    reference = str(uuid.uuid4())
    for _ in range(2):
        assert stop.send(**form, client_ref=reference).status_code == 302
    record = ApplicationRecord.objects.get(load_ref=load.ref)
    # 23,659 uL x 2,271,247 / 3,785,412
    assert (record.product_ul, record.product_unit) == (14_195, "fl_oz")
    assert record.product_amount == "0.48"
    said = text(stop.client.get(f"/record/{record.pk}/"))
    assert "0.8 fl oz in 1 gal, mixed 9:10 AM on Nov 25" in said
    assert load.ref in bytes(LogEntry.objects.get(record=record).leaf).decode()
    assert "0.40 gal left" in text(stop.client.get("/today/"))


def test_a_record_that_emptied_its_load_is_answered_alike_again(stop: Stop) -> None:
    load = mixed(stop)
    form = FROM_LOAD | {"finished_amount": "1", "load": load.ref, "client_ref": str(uuid.uuid4())}
    first, again = (stop.send(**form) for _ in range(2))
    assert (first.status_code, first.url) == (again.status_code, again.url) == (302, stop.path)
    assert ApplicationRecord.objects.filter(load_ref=load.ref).count() == 1
    assert "Loads on board" not in text(stop.client.get("/today/"))


def test_what_is_refused_of_a_load_is_said_on_the_record_page(stop: Stop) -> None:
    technician = stop.visit.technician
    other = make_load(technician, make_label(), mixed_at=timezone.now() - timedelta(hours=1))
    over = make_load(technician, stop.use, use_within_hours=Decimal(1))
    before = ApplicationRecord.objects.count()
    for load, typed, sentence in (
        (other, {}, "the direction you chose is of another label"),
        (over, {}, "The time to use this load was over at 8:00 AM"),
        (over, {"product_amount": "0.48"}, "product follows from the load"),
        (over, {"finished_amount": ""}, "write the finished spray you put out of the load"),
    ):
        answer = stop.send(**FROM_LOAD | {"load": load.ref} | typed)
        assert answer.status_code == 422
        assert sentence in text(answer)
        assert "Left the north side: wet." in text(answer)
    assert ApplicationRecord.objects.count() == before


def test_without_a_load_on_board_the_record_page_is_as_it_was(stop: Stop) -> None:
    page = text(stop.client.get(f"{stop.path}record/{stop.choice}"))
    assert "From a load on board" not in page
    assert "Work out" not in page
    # the product is asked for as before
    answer = stop.send(product_amount="")
    assert answer.status_code == 422


def test_a_load_is_ended_on_its_own_page(stop: Stop, other_technician: Person) -> None:
    load = mixed(stop)
    stop.send(**FROM_LOAD, load=load.ref)
    path = f"/loads/{load.pk}/"
    page = text(stop.client.get(path))
    assert "0.40 gal left" in page
    assert "0.60 gal, 0.48 fl oz of product" in page
    assert client_for(other_technician).get(path).status_code == 404
    form = {"client_ref": str(uuid.uuid4()), "kind": "disposed", "amount": "0.4", "unit": "gal"}
    refused = stop.client.post(path, form | {"how": "Gravel strip"})
    assert refused.status_code == 422
    assert "Say where it was disposed of" in text(refused)
    assert 'value="Gravel strip"' in text(refused)
    told = form | {"how": "Gravel strip", "where": "Depot yard"}
    for _ in range(2):
        assert stop.client.post(path, told).status_code == 302
    assert LoadRest.objects.get().difference_ul == 0
    assert "Loads on board" not in text(stop.client.get("/today/"))
    assert "Nothing more is taken" in text(stop.client.get(path))


def small(stop: Stop) -> str:
    """600 sq ft take 0.6 gal: two loads of a half-gallon can, the second of 0.1 gal."""
    return stop.choice.replace("tank=1", "tank=0.5")


def test_a_small_last_load_is_offered_three_ways(stop: Stop) -> None:
    assert "The last load is hard to measure" not in text(stop.mix())
    page = text(stop.mix(small(stop)))
    assert "Mix 2 equal loads of 0.30 gal." in page
    assert "keep the rest" not in page
    Equipment.objects.create(
        branch=stop.visit.property.branch, name="1-gal can", kind="hand_can", tank_gal=1
    )
    place = stop.visit.property
    later = due_place(place.branch, stop.visit.technician, zones=1, customer="Later Customer")
    make_visit(later.property, stop.visit.technician, hour=16, renewal=later)
    page = text(stop.mix(small(stop)))
    # 0.456 fl oz in 0.6 gal are 6.74 mL in half of it, down to a mark of 1 mL
    assert f"Mix 2 equal loads of 0.30 gal. <b>6 mL</b> of {product(stop)} in each" in page
    ways = [
        "Mix 2 equal loads of 0.30 gal.",
        "Take 1-gal can: 1 load of 0.60 gal.",
        # a quarter of 0.5 gal is 0.125 gal; this stop takes 0.1 gal of it
        "Mix 0.12 gal for the last load and keep the rest, 0.02 gal, for Later Customer.",
    ]
    assert [way in page for way in ways] == [True] * 3
    assert sorted(page.index(way) for way in ways) == [page.index(way) for way in ways]


def product(stop: Stop) -> str:
    return stop.use.label_version.product.name


def test_a_load_under_a_mark_is_offered_its_ways(stop: Stop) -> None:
    # the last 0.1 of 0.6 gal takes 2.2 mL: nothing on marks of 5 mL, half of 13.5 mL is 5
    coarse = f"{small(stop)}&measure=mL-5"
    page = text(stop.mix(coarse))
    assert "Load 2 takes less than one mark of this measure, 5 mL." in page
    assert ">too little<" in page and ">under 5 mL · 0.07 fl oz<" in page and ">10 mL<" in page
    assert f"Mix 2 equal loads of 0.30 gal. <b>5 mL</b> of {product(stop)} in each" in page
    assert stop.client.get(f"{stop.path}mix/tag.pdf{coarse}").status_code == 200
    record = text(stop.client.get(f"{stop.path}record/{coarse}"))
    assert "The mix said <b>12 mL, 0.60 gal</b>" in record


def test_no_way_round_a_coarse_measure_says_what_to_do(stop: Stop) -> None:
    # half of 13.5 mL is under a mark of 10 mL, a 1-gallon can takes it all
    coarse = f"{small(stop)}&measure=mL-10"
    page = text(stop.mix(coarse))
    assert "neither equal loads nor a bigger tank of the branch nor a later stop" in page
    assert "Take a finer measure or another tank." in page and "Load 1 of" not in page
    assert stop.client.get(f"{stop.path}mix/tag.pdf{coarse}").status_code == 422
    branch = stop.visit.property.branch
    tank = {"branch": branch, "tank_gal": 1}
    for kind in ("spreader", "duster"):
        Equipment.objects.create(name=f"My {kind}", kind=kind, **tank)
    assert "neither equal loads" in text(stop.mix(coarse))
    Equipment.objects.create(name="1-gal can", kind="hand_can", **tank)
    page = text(stop.mix(coarse))
    assert f"Take 1-gal can: 1 load of 0.60 gal. <b>10 mL</b> of {product(stop)}" in page
    offered = page.partition('name="sprayer"')[2].partition("</select>")[0]
    assert "1-gal can" in offered and "My " not in offered


def test_both_products_stand_in_each_way_and_at_the_next_stop(stop: Stop) -> None:
    powder = make_label(
        make_product("Demonstration P WP", formulation="wp"),
        pests=list(stop.use.pests.all()),
        use={"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None},
    )
    place = stop.visit.property
    later = due_place(place.branch, stop.visit.technician, zones=1, customer="Later Customer")
    make_visit(later.property, stop.visit.technician, hour=16, renewal=later)
    both = f"{small(stop)}&also={powder.pk}"
    page = text(stop.mix(both))
    # derived: 0.57 oz by weight in 0.6 gal are 0.285 in half of it
    names = f"<b>6 mL</b> of {product(stop)} and <b>0.2 oz (wt)</b> of Demonstration P WP in each"
    assert f"Mix 2 equal loads of 0.30 gal. {names}" in page
    assert "keep the rest, 0.02 gal, for Later Customer" in page
    assert "Demonstration P WP: 0.57 oz (wt) is proposed, 95 % of the label" in page
    assert page.count("The last load is only 0.10 gal") == 1
    zone = later.property.zones.get()
    zone.place = "eave_soffit"
    zone.save()
    stop.use.places = [*stop.use.places, "eave_soffit"]
    stop.use.save()
    assert "keep the rest" in text(stop.mix(small(stop)))
    assert "keep the rest" not in text(stop.mix(both))


def test_the_rest_goes_only_where_the_label_allows_in_time_and_today(stop: Stop) -> None:
    technician, branch = stop.visit.technician, stop.visit.property.branch
    eaves = due_place(branch, technician, zones=0, customer="Eaves Only")
    make_zone(eaves.property, place="eave_soffit")
    make_visit(eaves.property, technician, hour=16)
    gone = due_place(branch, technician, zones=1, customer="Earlier Stop")
    make_visit(gone.property, technician, hour=10, renewal=gone)
    tomorrow = due_place(branch, technician, zones=1, customer="Tomorrow")
    make_visit(tomorrow.property, technician, TODAY + timedelta(days=1), renewal=tomorrow)
    late = due_place(branch, technician, zones=1, customer="Late Stop")
    make_visit(late.property, technician, hour=18, renewal=late)
    page = text(stop.mix(small(stop)))
    assert "keep the rest, 0.02 gal, for Late Stop" in page
    LabelLimit.objects.create(
        label_version=stop.use.label_version, fact="mixed_hours", comparison="at_most", limit=2,
        severity="refuse", sentence="Use within 2 hours.", page="p. 6",
    )  # fmt: skip
    assert "keep the rest" not in text(stop.mix(small(stop)))


def test_pages_with_loads_ask_as_often_for_many_as_for_few(stop: Stop) -> None:
    technician = stop.visit.technician
    make_load(technician, stop.use)
    record = f"{stop.path}record/{stop.choice}"
    pages = ("/today/", stop.path, f"{stop.path}mix/{small(stop)}", record)
    few = [asked(stop, page) for page in pages]
    for _ in range(6):
        make_load(technician)
        renewal = due_place(stop.visit.property.branch, technician, zones=3)
        make_visit(renewal.property, technician, hour=18, renewal=renewal)
    assert [asked(stop, page) for page in pages] == few
