"""The notice after treatment: every fact is in the text of the PDF, one record on one sheet."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from django.http import Http404
from pypdf import PdfReader

from tests.factories import make_zone
from tests.treatments.conftest import NOW, House
from treatments.reports.notice import (
    Applicator,
    Firm,
    Notice,
    NoticeRecord,
    NotTreated,
    ToDo,
    draw_notice,
    drawable,
)
from treatments.rules.applications import Entered, TreatedZone
from treatments.selectors.notices import notice_of_record, notice_of_visit
from treatments.services.recording import record_application

RECORD = NoticeRecord(
    product="Demonstration A SC",
    registration_number="99999-101",
    signal_word="Caution",
    ingredients="demothrin 7.9 %",
    amount="1.6 fl oz",
    finished="1.6 gal",
    area="1,600 sq ft",
    zones="Foundation band",
    places="Foundation wall, Soil band",
    method="Perimeter band",
    pests="Brown marmorated stink bug",
    times="2:20 PM to 2:44 PM",
    applicator=Applicator(
        "Rosalind Tarver", "DEMO-T-1", "registered technician", "Owen Hadleigh, license DEMO-C-1"
    ),
    reentry="Keep people and pets off treated walls and soil until dry.",
    precautions="Toxic to fish. Do not hose treated walls toward the pond.",
)
NOTICE = Notice(
    firm=Firm(
        "Dunmarrow Pest Management",
        "1 Ropewalk Yard, Columbus, OH 43085",
        "DEMO-OH-1",
        "(614) 555-0100",
        "(614) 555-0101",
    ),
    customer="Marta Ellwood",
    address="118 Sluice Lane, Worthington, OH 43085",
    treated_on=date(2026, 11, 25),
    records=(RECORD,),
    not_treated=(NotTreated("Eaves", "wet paint, next visit"),),
    to_do=(ToDo("Cut plants back: plants touch the wall.", "Dec 14, 2026"),),
    demo=True,
)
FACTS = (
    "Dunmarrow Pest Management",
    "1 Ropewalk Yard, Columbus, OH 43085",
    "Business license DEMO-OH-1",
    "Marta Ellwood, 118 Sluice Lane, Worthington, OH 43085",
    "Nov 25, 2026",
    "2:20 PM to 2:44 PM",
    "Demonstration A SC",
    "99999-101",
    "demothrin 7.9 %",
    "Caution",
    "1.6 fl oz of product in 1.6 gal of finished spray on 1,600 sq ft",
    "Foundation band (foundation wall, soil band)",
    "Perimeter band",
    "Cut plants back: plants touch the wall.",
    "by Dec 14, 2026",
    "Brown marmorated stink bug",
    "Rosalind Tarver, registered technician, license DEMO-T-1",
    "under Owen Hadleigh, license DEMO-C-1",
    "Keep people and pets off treated walls and soil until dry.",
    "Toxic to fish. Do not hose treated walls toward the pond.",
    "Eaves",
    "wet paint, next visit",
    "The label is the law",
)
# Poison Help and NPIC: National Pesticide Information Center (read)
CALLS = (
    "911 Trouble breathing, a seizure, cannot be woken",
    "1-800-222-1222 Poison Help: swallowed, in eyes, on skin, ill",
    "1-800-858-7378 Questions: NPIC, weekday hours",
    "(614) 555-0100 The firm. After hours (614) 555-0101",
)


def pages(pdf: bytes) -> list[str]:
    """The text of each page, with single spaces."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("fact", [*FACTS, *CALLS, "Demonstration. Every person", "1 of 1"])
def test_every_fact_is_on_the_one_sheet(fact: str) -> None:
    (text,) = pages(draw_notice(NOTICE))
    assert fact.casefold() in text.casefold()


def test_it_is_a_letter_sheet() -> None:
    box = PdfReader(BytesIO(draw_notice(NOTICE))).pages[0].mediabox
    assert (box.width, box.height) == (612, 792)  # 8.5 by 11 inches at 72 to the inch


def test_a_real_firm_has_no_demonstration_mark() -> None:
    (text,) = pages(draw_notice(replace(NOTICE, demo=False)))
    assert "Demonstration. Every" not in text


def test_every_sheet_of_many_is_framed_and_marked() -> None:
    found = pages(draw_notice(replace(NOTICE, records=(RECORD,) * 6)))
    assert len(found) > 1
    for number, text in enumerate(found, start=1):
        assert "Demonstration. Every person" in text
        assert "1-800-222-1222" in text
        assert f"{number} of {len(found)}" in text
    assert "what was done, 6 of 6" in " ".join(found).casefold()


def test_markup_in_a_name_is_printed_as_it_is() -> None:
    (text,) = pages(draw_notice(replace(NOTICE, customer="<b>Ellwood</b> & Sons")))
    assert "<b>Ellwood</b> & Sons" in text


def test_letters_the_fonts_lack_lose_their_accents() -> None:
    assert drawable("José Nuñez") == "José Nuñez"
    assert drawable("Nguyễn Šimůnek") == "Nguyen Šimunek".replace("Š", "S")
    assert drawable("雪") == "?"


@pytest.mark.django_db
def test_the_notice_of_a_visit_says_what_was_recorded(house: House) -> None:
    application = house.application(visit_ref="visit-7")
    record_application(application=application, by=house.technician, now=NOW)
    skipped = [NotTreated("Drive", "concrete, the label allows no band there")]
    (text,) = pages(
        draw_notice(notice_of_visit(visit_ref="visit-7", demo=True, not_treated=skipped))
    )
    for fact in (
        "Marta Ellwood, 118 Sluice Lane, Worthington, OH 43085",
        "2:20 PM to 2:44 PM",  # 19:20 to 19:44 UTC is five hours earlier in Ohio in November
        "99999-101",
        "1.6 fl oz of product in 1.6 gal of finished spray on 1,600 sq ft",
        "Terry Technician, certified applicator, license DEMO-",
        "concrete, the label allows no band there",
        "(614) 555-0100 The firm. After hours (614) 555-0101",
        "Keep people and pets off until dry.",
        "Do not apply to water.",
    ):
        assert fact in text


@pytest.mark.django_db
def test_two_loads_are_one_treatment_on_the_notice(house: House) -> None:
    for amount in ("0.8", "0.75"):
        load = house.application(visit_ref="visit-1", product_amount=Entered(amount, "fl_oz"))
        record_application(application=load, by=house.technician, now=NOW)
    (told,) = notice_of_visit(visit_ref="visit-1", demo=True).records
    assert (told.amount, told.finished, told.area) == ("1.55 fl oz", "3.2 gal", "1,600 sq ft")
    assert told.loads == ("0.8 fl oz in 1.6 gal", "0.75 fl oz in 1.6 gal")
    assert told.times.count("2:20 PM to 2:44 PM") == 2


def test_another_unit_and_another_zone_are_not_added_up(house: House) -> None:
    wall = make_zone(house.place, "Wall")
    for changes in (
        {"product_amount": Entered("1", "fl_oz")},
        {"product_amount": Entered("10", "mL")},
        {"product_amount": None, "zones": (TreatedZone(wall.pk),)},
        {"zones": (TreatedZone(wall.pk),)},
    ):
        load = house.application(visit_ref="visit-1", **changes)
        record_application(application=load, by=house.technician, now=NOW)
    band, other = notice_of_visit(visit_ref="visit-1", demo=True).records
    assert (band.zones, band.amount) == ("Foundation band", "1 fl oz and 10 mL")
    # an amount that nobody wrote down makes no sum
    assert (other.zones, other.amount, other.loads[0]) == (
        "Wall", "", "an amount not written down in 1.6 gal",
    )  # fmt: skip


def test_work_without_a_product_has_a_notice_too(house: House) -> None:
    application = house.application(
        label_use_id=None, product_amount=None, finished_amount=None, method="crack_crevice"
    )
    record = record_application(application=application, by=house.technician, now=NOW).record
    (text,) = pages(draw_notice(notice_of_record(record=record, demo=False)))
    assert "No product was put down" in text
    assert "Registration" not in text


@pytest.mark.django_db
def test_a_visit_without_records_has_no_notice() -> None:
    for visit_ref in ("", "nothing"):
        with pytest.raises(Http404):
            notice_of_visit(visit_ref=visit_ref, demo=False)
