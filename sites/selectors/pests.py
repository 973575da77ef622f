"""Reading pests."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from sites.models import Pest, Taxon


def pests() -> QuerySet[Pest]:
    """Every pest by its common name."""
    return Pest.objects.order_by("common_name")


def pest_ids_of(lists: Iterable[Iterable[str]]) -> dict[str, int]:
    """The keys of every pest that the lists of common names name; one query."""
    names = {name for names in lists for name in names}
    return dict(Pest.objects.filter(common_name__in=names).values_list("common_name", "pk"))


def pest_of_taxon(taxon: Taxon | None) -> Pest | None:
    """The pest that labels name with the scientific name of an animal of the key, if one has it."""
    if taxon is None or not taxon.scientific_name:
        return None
    return Pest.objects.filter(scientific_name__iexact=taxon.scientific_name).first()
