"""What passes instead of a refused use: read once, then judged without another query."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import Q

from accounts.refusals import Refused
from treatments.models import LabelUse, ProductLot
from treatments.rules.alternatives import (
    Candidate,
    of_other_lots,
    of_other_products,
    of_the_label,
    passes,
)
from treatments.rules.products import Method, Severity
from treatments.selectors.checks import Preview, previewed
from treatments.selectors.lots_aboard import LotAboard
from treatments.selectors.proposed_uses import Known, known_also
from treatments.selectors.stock import on_hand, vehicle_of
from treatments.selectors.whole import Setting, directions_with_label

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class Offer:
    """One direction by one method that passes for the zones and pests of the refused use."""

    use: LabelUse
    method: Method
    groups: tuple[str, ...]


@dataclass(frozen=True)
class Instead:
    """Allowed treatments of the refused label, and other products; `is_truck`: from the truck.

    `lots` are of the refused product under another label.
    """

    of_label: tuple[Offer, ...]
    lots: tuple[Offer, ...]
    products: tuple[Offer, ...]
    is_truck: bool


def instead_of(
    refused: Preview,
    in_force: Collection[LabelUse],
    tank_gal: Decimal | None,
    already: Collection[LabelUse] = (),
) -> Instead:
    """What is allowed instead for the same person, day, zones and pests.

    Other products are those on the person's truck; without a truck those the branch has on
    hand; where no stock is kept, every product of `in_force`. `already` are directions that were
    read with their labels. The number of queries does not grow with the directions.
    """
    setting = refused.setting
    is_truck = has_truck(setting.applicator, setting.aboard)
    labels = labels_at_hand(setting.applicator, setting.on, setting.aboard, is_truck=is_truck)
    others = _directions_of(labels, (*in_force, *already))
    if not is_truck and not others:
        others = list(in_force)
    pool = {use.pk: use for use in (*_of_label(refused, in_force), *others)}
    known = known_also(refused.known, setting, pool.values())
    passing = [_candidate(one) for one in _answers(setting, pool.values(), tank_gal, known)]
    asked = _candidate(refused)
    return Instead(
        of_label=_offers(of_the_label(asked, passing), pool),
        lots=_offers(of_other_lots(asked, passing), pool),
        products=_offers(of_other_products(asked, passing), pool),
        is_truck=is_truck,
    )


def _of_label(refused: Preview, in_force: Collection[LabelUse]) -> Iterable[LabelUse]:
    label = refused.direction.label_version_id
    return (use for use in in_force if use.label_version_id == label)


def has_truck(person: Person, aboard: Collection[LotAboard]) -> bool:
    """Whether a vehicle is kept for a person; asked only where nothing is aboard."""
    return bool(aboard) or vehicle_of(person.pk) is not None


def labels_at_hand(
    person: Person, on: date, aboard: Collection[LotAboard], *, is_truck: bool
) -> set[int]:
    """The labels of the lots on the truck, else on hand in the branch, that have not run out."""
    if is_truck:
        return {lot.label_version_id for lot in aboard if not lot.has_run_out(on)}
    sums = on_hand(None)
    lots = ProductLot.objects.filter(pk__in={lot for (lot, _), left in sums.items() if left > 0})
    usable = lots.filter(Q(expires_on__isnull=True) | Q(expires_on__gte=on))
    of_branch = usable.filter(branch_id=person.branch_id)
    return set(of_branch.values_list("label_version_id", flat=True))


def _directions_of(labels: set[int], already: Iterable[LabelUse]) -> list[LabelUse]:
    """The directions of these labels, by product; those of labels that were not read are read."""
    found = {use.pk: use for use in already if use.label_version_id in labels}
    missing = labels - {use.label_version_id for use in found.values()}
    rows = directions_with_label().filter(label_version__is_draft=False)
    found |= {use.pk: use for use in rows.filter(label_version__in=missing)} if missing else {}
    return sorted(found.values(), key=lambda one: (one.label_version.product.name, one.pk))


def _answers(
    setting: Setting, uses: Iterable[LabelUse], tank_gal: Decimal | None, known: Known
) -> Iterator[Preview]:
    """Every direction by every method it names that passes; what cannot be counted does not."""
    for use in uses:
        for method in use.methods:
            try:
                answer = previewed(
                    replace(setting, use=use, method=method), use, tank_gal, known=known
                )
            except Refused:
                continue
            if answer.product is not None and passes(answer.judgements):
                yield answer


def _candidate(answer: Preview) -> Candidate:
    use = answer.direction
    return Candidate(
        direction=use.pk,
        method=Method(answer.setting.method),
        label=use.label_version_id,
        product_name=use.label_version.product.name,
        groups=frozenset(_groups(use)),
        warnings=sum(one.severity == Severity.WARN for one in answer.judgements),
    )


def _groups(use: LabelUse) -> tuple[str, ...]:
    rows = use.label_version.product.ingredients.all()
    return tuple(sorted({row.ingredient.irac_group for row in rows} - {""}))


def _group_words(use: LabelUse) -> tuple[str, ...]:
    """The groups with the version of the scheme they were read in."""
    rows = use.label_version.product.ingredients.all()
    return tuple(sorted({row.ingredient.group_words for row in rows} - {""}))


def _offers(ranked: Iterable[Candidate], pool: dict[int, LabelUse]) -> tuple[Offer, ...]:
    return tuple(
        Offer(pool[one.direction], one.method, _group_words(pool[one.direction])) for one in ranked
    )
