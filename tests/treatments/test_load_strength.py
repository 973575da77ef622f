"""A load as strong as the label allows is mixed, the next amount above it is refused.

1 gal is 128 fl oz (NIST Handbook 44, Appendix C): 1 fl oz made up to a gallon is 1 in 128, 1 fl oz
added to a gallon 1 in 129 (derived).
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from accounts.refusals import Refused
from tests.treatments.conftest import NOW, House
from tests.treatments.load_cases import mixed
from treatments.models import Calibration, Equipment, LabelUse, Load
from treatments.rules.applications import Entered

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
AREA: dict[str, Any] = {"rate_basis": "area", "rate_max": 1, "gallons_per_1000": 1}
SPRAY: dict[str, Any] = {"rate_basis": "finished_volume", "rate_max": 1}
WATER: dict[str, Any] = {"rate_basis": "diluent_volume", "rate_max": 1}
PERCENT: dict[str, Any] = {"rate_basis": "percent", "rate_max": Decimal("0.5")}
FOG: dict[str, Any] = {"rate_basis": "space_volume", "rate_max": 1, "per_gallon": 2}
DRENCH: dict[str, Any] = FOG | {"rate_basis": "linear", "mix_basis": "per_diluent"}


def direction(house: House, **fields: Any) -> House:
    """The house with another direction; what a case does not name is not on the label."""
    nothing = {"per_gallon": None, "gallons_per_1000": None, "rate_min": None}
    LabelUse.objects.filter(pk=house.use.pk).update(**nothing | fields)
    return house


@pytest.mark.parametrize(
    ("label", "gallons", "most", "over"),
    [
        (AREA, "4", "4", "4.0001"),
        (AREA | {"gallons_per_1000": 2}, "4", "2", "2.0001"),
        # 1 fl oz in the half gallon that the label allows for 1,000 sq ft: 2 fl oz a gallon
        (AREA | {"min_gallons_per_1000": Decimal("0.5")}, "4", "8", "8.0001"),
        (SPRAY, "4", "4", "4.0001"),
        # 4 fl oz added to 4 gal make 516 fl oz; made up to 4 gal they are too many
        (WATER, "4.03125", "4", "4.0001"),
        (WATER, "4", "3.9689", "4"),
        # half a gallon in a hundred: 2.56 fl oz in 4 gal
        (PERCENT, "4", "2.56", "2.5601"),
        (FOG, "4", "8", "8.0001"),
        # 8 fl oz added to 4 gal
        (DRENCH, "4.0625", "8", "8.0001"),
    ],
)
def test_the_most_is_mixed_and_the_next_amount_is_refused(
    house: House, label: dict[str, Any], gallons: str, most: str, over: str
) -> None:
    direction(house, **label)
    made = {"finished": Entered(gallons, "gal")}
    with pytest.raises(Refused, match="the most is") as refused:
        mixed(house, product=Entered(over, "fl_oz"), **made)
    assert refused.value.facts["field"] == "product_amount"
    assert not Load.objects.exists()
    assert mixed(house, product=Entered(most, "fl_oz"), **made).product_amount == most


def test_a_weaker_load_is_mixed_as_the_label_check_only_warns_of_it(house: House) -> None:
    direction(house, **SPRAY | {"rate_min": Decimal("0.5")})
    assert mixed(house, product=Entered("0.1", "fl_oz")).product_amount == "0.1"


def test_the_refusal_says_what_was_mixed_what_is_allowed_and_where_it_stands(house: House) -> None:
    with pytest.raises(Refused) as refused:
        mixed(house, product=Entered("8", "fl_oz"))
    assert refused.value.sentence == (
        "This load would hold 2.00 fl oz per gal; the most is 1.00 fl oz per gal at 1.00 gal per "
        "1,000 sq ft, as the label gives. Demonstration A SC, label of Jan 1, 2026, p. 3. "
        "Put no more than 4 fl oz in it, or more water."
    )


def test_the_measured_output_of_the_sprayer_decides(house: House) -> None:
    can = Equipment.objects.create(
        branch=house.place.branch, name="Backpack", kind="backpack", tank_gal=4
    )
    # half a gallon on 1,000 sq ft: 8 fl oz in 4 gal are 1 fl oz on 1,000 sq ft
    strong = {"product": Entered("8", "fl_oz"), "sprayer_id": can.pk}
    with pytest.raises(Refused, match="as the label gives"):
        mixed(house, **strong)
    Calibration.objects.create(
        equipment=can, measured_on=date(2026, 11, 1), measuring="area", caught=1,
        gallons_per_1000=Decimal("0.5"),
    )  # fmt: skip
    assert mixed(house, **strong).product_amount == "8"
    with pytest.raises(Refused, match="as measured"):
        mixed(house, **strong | {"product": Entered("8.0001", "fl_oz")})


def test_a_label_that_says_nothing_of_the_spray_judges_no_strength(house: House) -> None:
    direction(house, rate_basis="area", rate_max=1)
    assert mixed(house, product=Entered("40", "fl_oz")).mixed_at < NOW


def test_a_dry_product_takes_no_room_in_the_water(house: House) -> None:
    direction(house, **WATER, rate_unit="oz_wt")
    dry = {"product": Entered("4", "oz_wt")}
    assert mixed(house, **dry).product_mg is not None
    with pytest.raises(Refused, match="the most is"):
        mixed(house, product=Entered("4.0001", "oz_wt"))
