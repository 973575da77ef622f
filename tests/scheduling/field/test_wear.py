"""What the mix page says to wear, and who is refused for the want of papers."""

from __future__ import annotations

import pytest

from sites.models import TreatableZone
from tests.factories import TODAY, make_label, make_product
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_pages import text
from treatments.models import LabelProtection, LabelUse
from treatments.rules.protective_equipment import respirators_in

pytestmark = pytest.mark.django_db
RESPIRATOR = "Half-face respirator"


def wants(stop: Stop, task: str, item: str) -> None:
    LabelProtection.objects.create(
        label_version=stop.use.label_version,
        task=task,
        item=item,
        page="p. 2",
        respirators=list(respirators_in(item)),
    )


def test_without_rows_the_text_of_the_label_is_shown(stop: Stop) -> None:
    assert "Long sleeves, long trousers, shoes and socks." in text(stop.mix())


def test_the_items_of_the_job_with_task_and_page(stop: Stop) -> None:
    wants(stop, "mix_and_load", "Chemical-resistant gloves")
    wants(stop, "clean_up", "Chemical-resistant gloves")
    wants(stop, "overhead", "A hat with a brim")
    page = text(stop.mix())
    assert "<b>Chemical-resistant gloves</b>" in page
    assert 'Mix and load, clean up <span class="src">p. 2</span>' in page
    assert "A hat with a brim" not in page  # no eave is treated
    assert "Long sleeves, long trousers, shoes and socks." not in page


def test_overhead_work_asks_for_its_own(stop: Stop) -> None:
    wants(stop, "overhead", "A hat with a brim")
    TreatableZone.objects.filter(pk=stop.zone.pk).update(place="eave_soffit")
    LabelUse.objects.filter(pk=stop.use.pk).update(places=["eave_soffit"])
    assert "A hat with a brim" in text(stop.mix())


def test_a_respirator_needs_papers(stop: Stop) -> None:
    wants(stop, "apply", RESPIRATOR)
    page = text(stop.mix())
    assert f"The label asks for: {RESPIRATOR}; for you no medical clearance" in page
    assert "Ask the office to enter the papers" in page
    assert "Load 1 of 1" not in page
    stop.visit.technician.respirator_papers.create(
        kind="half_vapor",
        respirator="Demonstration H, medium",
        medical_until=TODAY,
        fit_test_until=TODAY,
        cartridge_until=TODAY,
    )
    page = text(stop.mix())
    assert "your papers hold for Half-face with organic-vapor cartridges" in page
    assert "Load 1 of 1" in page


def test_a_second_product_brings_what_its_label_wants(stop: Stop) -> None:
    powder = make_label(
        make_product("Demonstration P WP", formulation="wp"),
        pests=list(stop.use.pests.all()),
        use={"rate_max": 1, "rate_unit": "oz_wt", "per_gallon": None},
    )
    wants(stop, "mix_and_load", "Chemical-resistant gloves")
    for item, page in (("Chemical-resistant gloves", "p. 2"), ("Face shield", "p. 9")):
        LabelProtection.objects.create(
            label_version=powder.label_version, task="mix_and_load", item=item, page=page
        )
    alone = text(stop.mix())
    assert "<b>Face shield</b>" not in alone
    both = text(stop.mix(f"{stop.choice}&also={powder.pk}"))
    worn = both.partition("Wear, before opening")[2].partition("</section>")[0]
    # what both labels want alike stands once, what only one of them wants stands too
    assert worn.count("<b>Chemical-resistant gloves</b>") == 1
    assert worn.count("<b>Face shield</b>") == 1 and "p. 9" in worn


@pytest.mark.parametrize(
    ("tank", "heading"), [("1", "Fill order</h2>"), ("0.4", "Fill order, load 1</h2>")]
)
def test_the_fill_order_says_which_load_it_is_of(stop: Stop, tank: str, heading: str) -> None:
    page = text(stop.mix(f"?zone={stop.zone.pk}&use={stop.use.pk}&tank={tank}"))
    assert heading in page
    assert ("The same order for each load" in page) is (tank == "0.4")
    # 0.6 gal: half of the water of the one load, or of the first of two
    half = "0.30 gal" if tank == "1" else "0.20 gal"
    assert f"Fill half the water, {half}" in page
