"""What a container tag says of one mix."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from accounts.refusals import Refused
from accounts.rules.day_words import short_day
from sites.rules.units import Amount, display, plain
from treatments.reports.tag_words import ContainerTag
from treatments.rules.dilutions import LB_WATER_PER_GAL, active_ingredient_lb
from treatments.rules.measures import reading
from treatments.rules.products import SIGNAL_WORD_WORDS, SignalWord

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ProductIngredient
    from treatments.selectors.checks import Preview

FOUR_DECIMALS = Decimal("0.0001")


def container_tag(
    answers: Sequence[Preview], person: Person, on: date, *, demo: bool
) -> ContainerTag:
    """The tag of what the previews of one tank propose to mix, the first product first.

    The signal word is the most severe of them. Refused where nothing is mixed.
    """
    mixed = [one for one in answers if one.mix and one.finished and one.is_allowed]
    if not mixed or len(mixed) < len(answers):
        raise Refused(
            "container_tag", "Nothing is mixed here, so there is no tag. Work out the mix first."
        )
    products, branch = [one.direction.label_version.product for one in mixed], person.branch
    words = [SignalWord(one.signal_word) for one in products]
    return ContainerTag(
        firm=branch.name,
        address=f"{branch.street}, {branch.city}, {branch.state} {branch.zip_code}".strip(", "),
        phone=branch.phone,
        product=" and ".join(one.name for one in products),
        registration_number="; ".join(
            one.registration_number or "no number (exempt)" for one in products
        ),
        ingredients=tuple(text for one in mixed for text in _ingredients(one)),
        dilution=_dilution(mixed),
        signal_word=SIGNAL_WORD_WORDS[min(words, key=list(SignalWord).index)],
        mixed_on=short_day(on, True),
        technician=person.full_name,
        is_demonstration=demo,
    )


def _dilution(mixed: Sequence[Preview]) -> str:
    products = [
        reading(one.mix.measured, one.mix.measure)
        + (f" of {one.direction.label_version.product.name}" if len(mixed) > 1 else "")
        for one in mixed
        if one.mix
    ]
    gallons = display(mixed[0].finished, 2) if mixed[0].finished else ""
    return f"{' and '.join(products)} in {gallons} of finished spray"


def _ingredients(one: Preview) -> list[str]:
    if one.mix is None or one.finished is None:
        return []
    rows = one.direction.label_version.product.ingredients.all()
    return [_in_container(row, one.mix.measured, one.finished) for row in rows]


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
