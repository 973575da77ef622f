"""The tag of a service container: every item of reference/regulations.md 1.8 on the paper."""

from __future__ import annotations

from io import BytesIO

import pytest
from django.utils import timezone
from pypdf import PdfReader

from accounts.models import Person
from tests.factories import client_for, make_visit
from tests.treatments.conftest import House, house, make_house

__all__ = ["house", "make_house"]
pytestmark = pytest.mark.django_db


def test_the_tag_names_the_firm_and_what_is_in_the_container(house: House) -> None:
    visit = make_visit(house.place, house.technician, timezone.now().date())
    url = f"/stops/{visit.pk}/mix/tag.pdf?zone={house.band.pk}&use={house.use.pk}&tank=2"
    answer = client_for(house.technician).get(url)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    pages = PdfReader(BytesIO(answer.content)).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    branch = house.place.branch
    for words in (
        branch.name,
        branch.city,
        branch.phone,
        "Demonstration A SC",
        "99999-101",
        "Caution",
        "Terry Technician",
        # the label's most is 1 fl oz per 1,000 sq ft; 95 % of it on 1,600 sq ft is 1.52 fl oz or
        # 44.95 mL, down to a mark of 1 mL
        "44 mL in 1.60 gal of finished spray",
        # 44 / 3,785.41 gal x 0.666667 lb / (1.6 gal x 8.34 lb) (reference/trade.md 1.1 and 1.2)
        "demothrin 0.0581 %",
    ):
        assert words in text, words


def test_without_a_mix_there_is_no_tag(house: House, other_technician: Person) -> None:
    visit = make_visit(house.place, house.technician, timezone.now().date())
    url = f"/stops/{visit.pk}/mix/tag.pdf"
    assert client_for(house.technician).get(url).status_code == 422
    assert client_for(other_technician).get(url).status_code == 404
