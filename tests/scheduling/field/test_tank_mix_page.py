"""Two products in one tank on the mix page, and their two records."""

from __future__ import annotations

import re
from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from scheduling.models import VisitApplication
from tests.factories import make_label, make_product, make_zone
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_pages import text
from treatments.models import (
    ActiveIngredient,
    Calibration,
    Equipment,
    FirmRate,
    LabelLimit,
    LabelUse,
    LabelVersion,
    Product,
    ProductIngredient,
    SafetyAnswer,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def powder(stop: Stop) -> LabelUse:
    """A wettable powder on the same place and pest: 1 oz by weight in the same gallon."""
    product = make_product("Demonstration P WP", formulation="wp")
    use = {"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None}
    return make_label(product, pests=list(stop.use.pests.all()), use=use)


def both(stop: Stop, other: LabelUse, more: str = "") -> str:
    return f"{stop.choice}&also={other.pk}{more}"


def limit(use: LabelUse, fact: str, comparison: str, number: str, sentence: str) -> None:
    LabelLimit.objects.create(
        label_version=use.label_version, fact=fact, comparison=comparison,
        limit=Decimal(number), severity="refuse", sentence=sentence, page="p. 2",
    )  # fmt: skip


def test_both_products_stand_in_each_load_and_in_their_order(stop: Stop, powder: LabelUse) -> None:
    LabelVersion.objects.filter(uses=powder).update(protective_equipment="Respirator.")
    page = text(stop.mix(both(stop, powder)))
    assert "Demonstration P WP asks for its own.</b> Respirator." in page
    # 600 sq ft: 95 % of 0.48 fl oz are 13.48 mL; 95 % of 0.6 oz by weight are 0.57
    assert ">13 mL<" in page and ">0.5 oz (wt)<" in page
    slurry = page.index("Stir 0.5 oz (wt) of Demonstration P WP with a little water to a slurry")
    assert slurry < page.index("measure 13 mL of ")


def test_the_tag_names_both_and_the_more_severe_word(stop: Stop, powder: LabelUse) -> None:
    Product.objects.filter(labels__uses=powder).update(signal_word="warning")
    tag = stop.client.get(f"/stops/{stop.visit.pk}/mix/tag.pdf{both(stop, powder)}")
    words = " ".join(PdfReader(BytesIO(tag.content)).pages[0].extract_text().split())
    first = stop.use.label_version.product
    assert f"{first.name} and Demonstration P WP" in words and "Warning" in words
    assert f"13 mL of {first.name} and 0.5 oz (wt) of Demonstration P WP in 0.60 gal" in words


def test_a_label_that_names_its_turn_goes_before_the_usual_order(
    stop: Stop, powder: LabelUse
) -> None:
    limit(powder, "fill_turn", "at_most", "6", "Add last.")
    page = text(stop.mix(both(stop, powder)))
    assert page.index("measure 13 mL of ") < page.index("of Demonstration P WP and shake.")
    assert "not judged here" not in page


def test_a_label_that_forbids_tank_mixes_refuses(stop: Stop, powder: LabelUse) -> None:
    limit(powder, "tank_mix", "forbidden", "0", "Do not mix with other products.")
    assert "Do not mix" not in text(stop.mix())
    page = text(stop.mix(both(stop, powder)))
    assert "Do not mix with other products." in page and "Refused" in page
    assert "Load 1 of 1" not in page
    alone = text(stop.mix(f"?zone={stop.zone.pk}&use={powder.pk}&tank=1"))
    assert "Load 1 of 1" in alone and "not judged here" not in alone


def test_labels_that_assume_other_gallons_need_a_measured_output(
    stop: Stop, powder: LabelUse
) -> None:
    LabelUse.objects.filter(pk=powder.pk).update(gallons_per_1000=Decimal("1.5"))
    page = text(stop.mix(both(stop, powder)))
    assert "The two labels assume 0.60 gal and 0.90 gal on this area. Choose measured" in page
    can = Equipment.objects.create(
        branch=stop.visit.technician.branch, name="Can 1", kind="hand_can", tank_gal=2
    )
    Calibration.objects.create(
        equipment=can, measured_on="2026-11-02", measuring="area", caught=1, over=1000,
        gallons_per_1000=1,
    )  # fmt: skip
    assert "Load 1 of 1" in text(stop.mix(both(stop, powder, f"&equipment={can.pk}")))


@pytest.mark.parametrize(("most", "is_mixed"), [("0.39", False), ("0.4", True)])
def test_one_ingredient_in_both_is_added_up(
    stop: Stop, powder: LabelUse, most: str, is_mixed: bool
) -> None:
    shared = ActiveIngredient.objects.create(common_name="demothrin")
    for use, pounds in ((stop.use, Decimal("0.666667")), (powder, None)):
        ProductIngredient.objects.create(
            product=use.label_version.product, ingredient=shared,
            percent_by_weight=Decimal(10), pounds_per_gallon=pounds,
        )  # fmt: skip
    limit(stop.use, "ingredient_per_acre_year", "at_most", most, "Yearly.")
    # derived: 0.456 fl oz hold 0.002375 lb, half an ounce of 10 % holds 0.003125 lb; on 600 sq ft
    # 0.1724 lb per acre by itself and 0.3993 together
    assert "Load 1 of 1" in text(stop.mix())
    page = text(stop.mix(both(stop, powder)))
    assert "demothrin of two products: 0.3993 lb per acre this year" in page
    assert ("Load 1 of 1" in page) is is_mixed


def test_the_other_record_follows_the_first(stop: Stop, powder: LabelUse) -> None:
    chosen = both(stop, powder)
    page = text(stop.client.get(f"{stop.path}record/{chosen}"))
    (ending,) = [tag for tag in page.split("<") if 'value="another"' in tag]
    assert "checked" in ending
    first = stop.send(chosen, ending="another")
    assert first.status_code == 302 and f"use={powder.pk}" in first.url
    assert "also" not in first.url
    second = stop.client.get(first.url)
    assert "Demonstration P WP" in text(second)
    done = stop.send(first.url.partition("record/")[2], product_amount="0.5", product_unit="oz_wt")
    assert done.status_code == 302 and done.url == stop.path
    assert VisitApplication.objects.filter(visit=stop.visit).count() == 2


def test_one_recorded_of_two_asks_for_the_other_record(stop: Stop, powder: LabelUse) -> None:
    stop.send(both(stop, powder), ending="another", product_amount="0.2", finished_amount="0.3")
    page = text(stop.mix(both(stop, powder)))
    assert "Demonstration P WP is not. If they were in one tank, record Demonstration P WP" in page
    assert "assume" not in page and "Load 1 of 1" not in page


def test_both_put_out_in_part_leave_one_rest(stop: Stop, powder: LabelUse) -> None:
    """0.456 fl oz and 0.57 oz by weight in 0.6 gal; of the powder a little more is out."""
    first = stop.send(
        both(stop, powder), ending="another", product_amount="0.228", finished_amount="0.3"
    )
    query = first.url.partition("record/")[2]
    amounts = {"product_amount": "0.3", "product_unit": "oz_wt", "finished_amount": "0.3"}
    assert stop.send(query, **amounts, ending="rest").status_code == 302
    page = text(stop.mix(both(stop, powder)))
    # derived: 0.27 of 0.57 oz are left, 47 %: 0.28 gal with both
    assert "Load 1 of 1" in page and ">0.28 gal<" in page and "assume" not in page


def test_all_of_one_is_out_and_no_gallons_are_blamed(stop: Stop, powder: LabelUse) -> None:
    first = stop.send(both(stop, powder), ending="another", product_amount="0.456")
    amounts = {"product_amount": "0.57", "product_unit": "oz_wt", "ending": "another"}
    stop.send(first.url.partition("record/")[2], **amounts)
    page = text(stop.mix(both(stop, powder)))
    assert "nothing is left to mix" in page and "not put out in gallons" not in page


def names_of(page: str) -> list[str]:
    """The names of the questions on a page, in order."""
    return list(dict.fromkeys(re.findall(r'type="radio" name="([^"]+)"', page)))


def test_each_label_asks_its_own_questions_under_its_product(stop: Stop, powder: LabelUse) -> None:
    limit(stop.use, "hive_distance", "at_least", "30", "Hives.")
    limit(powder, "hive_distance", "at_least", "300", "Hives.")
    name = f"also_{powder.pk}_hive_distance"
    page = text(stop.mix(both(stop, powder)))
    assert names_of(page) == ["ask_hive_distance", name]
    asked = page[page.index('id="questions"') :]
    first, second = stop.use.label_version.product.name, "Demonstration P WP"
    assert f"<h3>{first}</h3>" in asked and f"<h3>{second}</h3>" in asked
    assert asked.index("at least 30 ft away?") < asked.index(f"<h3>{second}</h3>")
    # the answer to one label leaves the other open, whichever it is
    of_first = text(stop.mix(both(stop, powder, "&ask_hive_distance=yes")))
    assert "Not answered: Is every hive at least 300 ft away?" in of_first
    of_second = text(stop.mix(both(stop, powder, f"&{name}=yes")))
    assert "300 ft away? Answered: yes" in of_second
    assert "Not answered: Is every hive at least 30 ft away?" in of_second
    no = text(stop.mix(both(stop, powder, f"&{name}=no")))
    assert "A hive is nearer than 300 ft." in no and "Load 1 of 1" not in no
    # an answer for a direction that is not in this tank counts for nothing
    stray = text(stop.mix(both(stop, powder, f"&also_{powder.pk}0_hive_distance=yes")))
    assert "Not answered: Is every hive at least 300 ft away?" in stray
    assert "Not answered" not in text(stop.mix(f"{stop.choice}&also=&ask_hive_distance=yes"))


def test_a_question_about_the_work_is_asked_once(stop: Stop, powder: LabelUse) -> None:
    attic = make_zone(stop.visit.property, place="attic")
    LabelUse.objects.update(places=["attic"])
    choice = f"?zone={attic.pk}&use={stop.use.pk}&tank=1&also={powder.pk}"
    names = names_of(text(stop.mix(choice)))
    assert "ask_people_out" in names
    # the volume is asked against the maximum of each label
    assert {name for name in names if name.startswith("also")} == {f"also_{powder.pk}_space_volume"}
    page = text(stop.mix(f"{choice}&ask_people_out=yes&ask_space_volume=yes"))
    assert "Not answered: Are people and pets out" not in page
    assert "Not answered: Is the volume of the space" in page


def test_each_record_keeps_the_answers_to_its_own_label(stop: Stop, powder: LabelUse) -> None:
    limit(stop.use, "hive_distance", "at_least", "30", "Hives.")
    limit(powder, "hive_distance", "at_least", "300", "Hives.")
    limit(powder, "bees_foraging", "forbidden", "0", "Bees.")
    chosen = both(stop, powder, f"&also_{powder.pk}_hive_distance=yes")
    first = stop.send(chosen, ending="another", ask_hive_distance="no")
    query = first.url.partition("record/")[2]
    assert "ask_hive_distance=yes" in query and "also" not in query
    page = text(stop.client.get(first.url))
    assert names_of(page)[-2:] == ["ask_hive_distance", "ask_bees_foraging"]
    assert "at least 300 ft away?" in page and "at least 30 ft away?" not in page
    typed = {"product_amount": "0.5", "product_unit": "oz_wt", "ask_bees_foraging": "yes"}
    assert stop.send(query, **typed, ask_hive_distance="yes").status_code == 302
    answers = SafetyAnswer.objects.order_by("record_id", "pk").values_list("code", "answer")
    assert sorted(answers) == [
        ("bees_foraging", "yes"),
        ("hive_distance", "no"),
        ("hive_distance", "yes"),
    ]
    assert SafetyAnswer.objects.get(answer="no").record.label_use == stop.use


def test_the_second_product_takes_the_rate_of_the_firm(stop: Stop, powder: LabelUse) -> None:
    LabelUse.objects.filter(pk=powder.pk).update(rate_min=Decimal("0.5"))
    # 600 sq ft x 0.5 oz by weight are 0.3; the middle of 0.5 and 1 gives 0.45
    page = text(stop.mix(both(stop, powder)))
    assert ">0.3 oz (wt)<" in page and "Low rate, 0.50 oz (wt) per 1,000 sq ft" in page
    FirmRate.objects.create(label_use=powder, choice="middle")
    page = text(stop.mix(both(stop, powder)))
    assert ">0.4 oz (wt)<" in page and "Middle rate, 0.75 oz (wt) per 1,000 sq ft" in page


@pytest.mark.parametrize("also", ["", "x", "99999999", "0"])
def test_nonsense_beside_is_left_out(stop: Stop, also: str) -> None:
    page = text(stop.mix(f"{stop.choice}&also={also}"))
    assert ">13 mL<" in page and "slurry" not in page


def test_the_same_product_and_a_granule_are_not_offered(stop: Stop, powder: LabelUse) -> None:
    granule = make_label(
        make_product("Demonstration G", formulation="granule"),
        use={"per_gallon": None, "gallons_per_1000": None},
    )
    field = text(stop.mix()).partition('name="also"')[2].partition("</select>")[0]
    assert f'value="{powder.pk}"' in field
    assert f'value="{stop.use.pk}"' not in field and f'value="{granule.pk}"' not in field
