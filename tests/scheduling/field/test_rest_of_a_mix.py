"""The second load of a stop on the mix and stop pages."""

from __future__ import annotations

from decimal import Decimal

import pytest

from accounts.models import OpenItem
from tests.factories import make_pest
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_pages import text
from treatments.models import ApplicationRecord, LabelUse

pytestmark = pytest.mark.django_db
HALF = {"product_amount": "0.228", "finished_amount": "0.3", "ending": "rest"}
SAID = "Recorded at this stop."


def test_another_load_goes_back_to_the_same_mix(stop: Stop) -> None:
    assert SAID not in text(stop.mix())
    saved = stop.send(**HALF)
    assert saved.status_code == 302
    page = text(stop.client.get(saved.url))
    # derived: 95 % of 0.48 fl oz is 0.456 for 0.6 gal; half of it is out
    assert "0.228 fl oz of" in page and "in 0.30 gal on these zones." in page
    assert '<span class="main">0.30 gal</span>' in page
    assert "Amounts for the rest of 600 sq ft" in page
    assert "Allowed" in page and "was treated today" not in page


def test_the_stop_offers_another_load_while_it_is_open(stop: Stop) -> None:
    stop.send(**HALF)
    page = text(stop.client.get(stop.path))
    assert "0.228 fl oz in 0.3 gal" in page and "Another load of it" in page
    stop.send(**HALF | {"ending": "finish"})
    over = text(stop.client.get(stop.path))
    assert "0.228 fl oz in 0.3 gal" in over and "Another load of it" not in over


def test_another_load_keeps_zone_direction_and_pests(stop: Stop) -> None:
    one = make_pest("Pavement ant")
    stop.use.pests.add(one)
    stop.send(f"{stop.choice}&pest={one.pk}", **HALF)
    page = text(stop.client.get(stop.path))
    link = page.partition('class="plain" href="/stops/')[2].partition('"')[0]
    assert f"zone={stop.zone.pk}" in link and f"use={stop.use.pk}" in link
    assert link.count("pest=") == 1 and f"pest={one.pk}" in link


def test_nothing_is_left(stop: Stop) -> None:
    stop.send(**HALF | {"product_amount": "0.48", "finished_amount": "0.6"})
    page = text(stop.mix())
    assert "That is the whole mix for them: nothing is left to mix." in page
    assert "Load 1" not in page and "Record what was applied" in page


def test_what_another_visit_put_is_not_said(stop: Stop) -> None:
    stop.send(**HALF | {"ending": "finish"})
    stop.visit.pk, stop.visit.ref = None, "0" * 32
    stop.visit.renewal, stop.visit.state = None, "booked"
    stop.visit.save()
    page = text(stop.mix())
    assert SAID not in page and "was treated today" in page


@pytest.mark.parametrize(("second", "opened"), [(False, 1), (True, 0)])
def test_a_stop_that_ends_without_the_next_load_opens_an_item(
    stop: Stop, second: bool, opened: int
) -> None:
    """0.228 fl oz on 600 sq ft is 0.38 per 1,000, under the least of 0.5; twice it is 0.76."""
    LabelUse.objects.filter(pk=stop.use.pk).update(rate_min=Decimal("0.5"))
    stop.send(**HALF)
    if second:
        stop.send(**HALF | {"ending": "finish"})
    else:
        end = {"reason": "weather", "note": "Rain came."}
        assert stop.client.post(f"{stop.path}not-done/", end).status_code == 302
    records = ApplicationRecord.objects.filter(visit_ref=str(stop.visit.ref)).order_by("pk")
    rates = [one.judgements.get(code="rate").severity for one in records]
    assert rates == ["note"] * len(records)
    assert OpenItem.objects.filter(code="load_missing").count() == opened
