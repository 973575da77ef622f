"""What a container tag says of one mix."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from sites.rules.units import Amount, display, plain
from treatments.reports.tag_words import ContainerTag
from treatments.rules.dilutions import LB_WATER_PER_GAL, active_ingredient_lb
from treatments.rules.measures import reading

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ProductIngredient
    from treatments.selectors.checks import Preview

FOUR_DECIMALS = Decimal("0.0001")


def container_tag(answer: Preview, person: Person, on: date, *, demo: bool) -> ContainerTag:
    """The tag of what a preview proposes to mix; refused where nothing is mixed."""
    if answer.mix is None or answer.finished is None or not answer.is_allowed:
        raise Refused(
            "container_tag", "Nothing is mixed here, so there is no tag. Work out the mix first."
        )
    product, branch = answer.direction.label_version.product, person.branch
    measured = answer.mix.measured
    return ContainerTag(
        firm=branch.name,
        address=f"{branch.street}, {branch.city}, {branch.state} {branch.zip_code}".strip(", "),
        phone=branch.phone,
        product=product.name,
        registration_number=product.registration_number or "no number (exempt)",
        ingredients=tuple(
            _in_container(one, measured, answer.finished) for one in product.ingredients.all()
        ),
        dilution=f"{reading(measured, answer.mix.measure)} in "
        f"{display(answer.finished, 2)} of finished spray",
        signal_word=product.get_signal_word_display(),
        mixed_on=short_day(on, True),
        technician=person.full_name,
        is_demonstration=demo,
    )


def _in_container(one: ProductIngredient, product: Amount, finished: Amount) -> str:
    """Percent by weight in the spray, which weighs as much as water (reference/trade.md 1.1)."""
    pounds = active_ingredient_lb(
        product, lb_ai_per_gal=one.pounds_per_gallon, percent=one.percent_by_weight
    )
    name = one.ingredient.common_name
    if pounds is None:
        return f"{name}, {plain(one.percent_by_weight)} % in the undiluted product"
    percent = pounds * 100 / (finished.to("gal").value * LB_WATER_PER_GAL)
    return f"{name} {plain(percent.quantize(FOUR_DECIMALS))} %"
