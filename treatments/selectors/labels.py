"""Reading labels: which directions may be used on a day."""

from __future__ import annotations

from datetime import date

from django.db.models import F, OuterRef, QuerySet, Subquery

from treatments.models import ApplicationRecord, LabelUse, LabelVersion, Product
from treatments.selectors.whole import directions_with_label


def labels_in_force(on: date) -> QuerySet[LabelVersion]:
    """The label of each product that is the latest begun on a day and not withdrawn by then."""
    begun = LabelVersion.objects.filter(
        product=OuterRef("product"), effective_on__lte=on, is_draft=False
    )
    latest = Subquery(begun.order_by("-effective_on").values("pk")[:1])
    in_force = LabelVersion.objects.annotate(latest=latest).filter(pk=F("latest"))
    return in_force.exclude(not_to_be_used_after__lt=on)


def directions_in_force(on: date) -> list[LabelUse]:
    """Every direction for use that counts on a day, by product and title; a fixed few queries."""
    rows = directions_with_label().filter(label_version__in=labels_in_force(on))
    return list(rows.order_by("label_version__product__name", "pk"))


def products() -> list[Product]:
    """Every product with its ingredients, by name."""
    return list(Product.objects.prefetch_related("ingredients__ingredient"))


def is_product_settled(product_id: int) -> bool:
    """Whether a label of the product was verified or used."""
    labels = LabelVersion.objects.filter(product_id=product_id)
    return (
        labels.filter(verifications__isnull=False).exists()
        or ApplicationRecord.objects.filter(label_version__in=labels).exists()
    )
