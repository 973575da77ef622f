"""What is allowed instead, as links that open the same mix with another choice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from treatments.rules.products import METHOD_WORDS, Severity
from treatments.selectors.alternatives import Offer, instead_of
from treatments.selectors.wearing import who_else

if TYPE_CHECKING:
    from scheduling.selectors.mix_choices import Choice
    from treatments.models import LabelUse
    from treatments.selectors.checks import Preview


@dataclass(frozen=True)
class InsteadRow:
    """One choice: what it is called, what is different about it, its address."""

    name: str
    words: str
    query: str


@dataclass(frozen=True)
class InsteadWords:
    """What a refusal names: treatments of the same label, and other products with their place."""

    of_label: tuple[InsteadRow, ...]
    products: tuple[InsteadRow, ...]
    where: str
    who: str = ""


def instead_words(
    refused: Preview,
    choice: Choice,
    uses: Sequence[LabelUse],
    tank_gal: Decimal | None,
    already: Sequence[LabelUse] = (),
) -> InsteadWords:
    """The allowed treatments for the zones and pests of a refused choice.

    `already` are directions of labels aboard that are not in force, as far as they were read.
    """
    found = instead_of(refused, uses, tank_gal, already)
    return InsteadWords(
        of_label=tuple(_treatment(one, choice) for one in found.of_label),
        products=(
            *(_lot(one, choice) for one in found.lots),
            *(_product(one, choice) for one in found.products),
        ),
        where="on your truck" if found.is_truck else "of the branch",
        who=_who(refused),
    )


def _who(refused: Preview) -> str:
    """Who has the papers, where the want of them is what refuses."""
    stops = {one.code for one in refused.judgements if one.severity == Severity.REFUSE}
    if "respirator" not in stops:
        return ""
    is_mixed = refused.finished is not None
    return who_else(refused.setting, refused.direction, is_mixed=is_mixed)


def _treatment(offer: Offer, choice: Choice) -> InsteadRow:
    words = f"{offer.use.title}, {offer.use.page}"
    return InsteadRow(METHOD_WORDS[offer.method], words, _query(offer, choice))


def _lot(offer: Offer, choice: Choice) -> InsteadRow:
    """The same product from a lot with another label."""
    words = f"{METHOD_WORDS[offer.method].lower()}, {offer.use.title}, {offer.use.page}"
    return InsteadRow(str(offer.use.label_version), words, _query(offer, choice))


def _product(offer: Offer, choice: Choice) -> InsteadRow:
    groups = f"; IRAC group {', '.join(offer.groups)}" if offer.groups else ""
    words = f"{METHOD_WORDS[offer.method].lower()}, {offer.use.title}{groups}"
    return InsteadRow(offer.use.label_version.product.name, words, _query(offer, choice))


def _query(offer: Offer, choice: Choice) -> str:
    """The same zones and pests; what was chosen or answered for the refused direction is not."""
    return replace(
        choice,
        use_id=offer.use.pk,
        method=offer.method,
        rate="",
        reason="",
        measure="",
        also_id=None,
        answers=(),
    ).query
