"""Reading labels: which directions may be used on a day."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import BooleanField, ExpressionWrapper, F, OuterRef, Q, QuerySet, Subquery

from treatments.models import ApplicationRecord, LabelUse, LabelVersion, Load, LoadProduct, Product
from treatments.rules.rate_choices import RateChoice
from treatments.selectors.whole import directions_with_label
from treatments.selectors.withdrawals import last_day_of


def labels_in_force(on: date) -> QuerySet[LabelVersion]:
    """The label of each product that is the latest begun on a day and not withdrawn by then."""
    begun = LabelVersion.objects.filter(
        product=OuterRef("product"), effective_on__lte=on, is_draft=False
    )
    latest = Subquery(begun.order_by("-effective_on").values("pk")[:1])
    in_force = LabelVersion.objects.annotate(latest=latest, last_day=last_day_of("pk"))
    usable = Q(last_day__isnull=True) | Q(last_day__gte=on)
    return in_force.filter(usable, pk=F("latest"))


def is_in_force(version: LabelVersion, on: date) -> bool:
    """Whether a label is the one of its product in force on a day."""
    return labels_in_force(on).filter(pk=version.pk).exists()


SETTLED = (
    "A label of this product was verified or used, so the product stays as it is. "
    "Register what differs as a new product."
)
LOCKED = {
    "label_used": "This label was used and never changes. Enter the next version instead.",
    "label_verified": "This label was verified and stays as it is. Enter the next version instead.",
    "label_superseded": "This label is superseded and stays as it is. "
    "Enter the next version instead.",
}


def is_used(label_ids: Collection[int]) -> bool:
    """Whether a record was made by one of the labels, or a tank mixed that is judged by it."""
    return any(
        rows.objects.filter(label_version__in=label_ids).exists()
        for rows in (ApplicationRecord, Load, LoadProduct)
    )


def why_locked(version: LabelVersion, today: date, used: bool | None = None) -> str:
    """Why a label does not change any more, a word of LOCKED; empty while it does.

    `used` is what `is_used` says of it, where that was asked already.
    """
    if is_used([version.pk]) if used is None else used:
        return "label_used"
    if version.verifications.exists():
        return "label_verified"
    return "label_superseded" if is_superseded(version, today) else ""


def is_superseded(version: LabelVersion, on: date) -> bool:
    """Whether a label is complete and a later one of its product has begun by a day.

    A draft is never superseded: the older label of a lot in the store may still be entered.
    """
    later = LabelVersion.objects.filter(
        product=version.product_id,
        effective_on__gt=version.effective_on,
        effective_on__lte=on,
        is_draft=False,
    )
    return not version.is_draft and later.exists()


def directions_in_force(on: date) -> list[LabelUse]:
    """Every direction for use that counts on a day, by product and title; a fixed few queries."""
    rows = directions_with_label().filter(label_version__in=labels_in_force(on))
    return list(rows.order_by("label_version__product__name", "pk"))


def directions_offered(on: date) -> list[LabelUse]:
    """The same with label, product and firm rate alone, for a list to choose from; one query."""
    rows = LabelUse.objects.filter(label_version__in=labels_in_force(on))
    named = rows.select_related("label_version__product", "firm_rate")
    return list(named.order_by("label_version__product__name", "pk"))


@dataclass(frozen=True)
class AtHand:
    """Directions in force on a day, and others that matter, each by product and title."""

    in_force: tuple[LabelUse, ...]
    others: tuple[LabelUse, ...]


def directions_at_hand(
    on: date, label_use_ids: Collection[int], label_ids: Collection[int]
) -> AtHand:
    """Every direction that counts on a day, with these and those of these labels; as many queries.

    The others may be superseded or withdrawn; none is of a label that is still being entered.
    """
    in_force = Q(label_version__in=labels_in_force(on))
    named = Q(pk__in=label_use_ids) | Q(label_version__in=label_ids)
    rows = directions_with_label().filter(in_force | named & Q(label_version__is_draft=False))
    marked = rows.annotate(is_in_force=ExpressionWrapper(in_force, BooleanField()))
    every = list(marked.order_by("label_version__product__name", "pk"))
    return AtHand(
        tuple(use for use in every if use.is_in_force),
        tuple(use for use in every if not use.is_in_force),
    )


def firm_rate_of(use: LabelUse) -> str:
    """The rate the firm proposes for a direction; the low one where it chose none."""
    row = getattr(use, "firm_rate", None)
    return row.choice if row else RateChoice.LOW.value


def products() -> list[Product]:
    """Every product with its ingredients, by name."""
    return list(Product.objects.prefetch_related("ingredients__ingredient"))


def is_product_settled(product_id: int) -> bool:
    """Whether a label of the product was verified or used."""
    labels = LabelVersion.objects.filter(product_id=product_id)
    if labels.filter(verifications__isnull=False).exists():
        return True
    return is_used(list(labels.values_list("pk", flat=True)))
