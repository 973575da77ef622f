"""A record of a metric branch: size, rate and totals in metric, the reading as it was typed.

1 ft is 0.3048 m exactly (NIST Handbook 44, Appendix C), so 1,000 sq ft are 92.90304 m².
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from sites.rules.units import Amount, canonical
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord
from treatments.rules.applications import Entered
from treatments.selectors.record_words import area_words, length_words, rate_on
from treatments.selectors.records import UseLogFilter, totals, use_log, use_rows
from treatments.services.recording import record_application

THOUSAND = canonical(Decimal(1000), "ft2")


@pytest.mark.parametrize(
    ("system", "area", "length", "on_area", "on_length"),
    [
        ("us", "1,000 sq ft", "10 ft", "30.00 mL per 1,000 sq ft", "30.00 mL per 10 ft"),
        # derived: 92.90304 m²; 3.048 m; 30 mL x 100 / 92.90304 and 30 mL x 10 / 3.048
        ("metric", "92.9 m²", "3.05 m", "32.2917 mL per 100 m²", "98.4252 mL per 10 m"),
    ],
)
def test_words(system: str, area: str, length: str, on_area: str, on_length: str) -> None:
    ten_feet, product = canonical(Decimal(10), "ft"), Amount(Decimal(30), "mL")
    assert area_words(THOUSAND, system) == area
    assert length_words(ten_feet, system) == length
    assert rate_on(product, THOUSAND, 0, system) == on_area
    assert rate_on(product, 0, ten_feet, system) == on_length
    assert area_words(0, system) == length_words(0, system) == rate_on(product, 0, 0, system) == ""


@pytest.mark.engine
@pytest.mark.django_db
def test_the_log_and_its_totals_agree(house: House) -> None:
    branch = house.place.branch
    branch.units = "metric"
    branch.save()
    application = house.application(
        product_amount=Entered("47.3", "mL"), finished_amount=Entered("6", "L")
    )
    record = record_application(application=application, by=house.technician, now=NOW).record
    (row,) = use_rows(use_log(UseLogFilter()))
    # derived: 1,600 sq ft are 148.644864 m²; 47.3 x 100 / 148.644864
    assert (row.area, row.amount, row.finished) == ("148.6 m²", "47.3 mL", "6 L")
    assert row.rate == "31.8208 mL per 100 m²"
    (total,) = totals(UseLogFilter())
    assert (total.area, total.amount) == ("148.6 m²", "47.30 mL")
    assert ApplicationRecord.objects.get(pk=record.pk).area_mm2 == 16 * THOUSAND // 10
