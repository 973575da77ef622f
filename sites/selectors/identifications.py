"""Reading what was identified: by property, by visit, one with its evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Q
from django.http import Http404

from sites.models import Identification, Taxon
from sites.rules.identification.pages import KeyPage
from sites.rules.identification.words import ADVICE_WORDS, Advice, referral
from sites.selectors.properties import properties_for, zones_of

if TYPE_CHECKING:
    from accounts.models import Person

SHOWN = 20


@dataclass(frozen=True)
class IdentificationPage:
    """One identification with its evidence in words."""

    row: Identification
    advice: tuple[str, ...]
    referral: str


def identifications_of(property_id: int) -> Sequence[Identification]:
    """The newest identifications at a property, with who made them; one query."""
    rows = Identification.objects.filter(property_id=property_id).select_related("by", "zone")
    return list(rows.order_by("-at", "-pk")[:SHOWN])


def identification_page(person: Person, pk: int) -> IdentificationPage:
    """One identification at a property the person may see, or their own; otherwise Http404."""
    rows = Identification.objects.select_related("property__branch", "by", "zone", "taxon")
    mine = Q(property__in=properties_for(person)) | Q(by=person)
    row = rows.filter(mine, pk=pk).first()
    if row is None:
        raise Http404("No such identification.")
    words = tuple(ADVICE_WORDS[Advice(one)] for one in row.advice)
    return IdentificationPage(row, words, referral(row.advice))


def zone_choices(property_id: int) -> list[tuple[int, str]]:
    """Keys and names of the zones a finding may lie in."""
    return [(zone.pk, zone.name) for zone in zones_of(property_id)]


def candidate_choices(page: KeyPage) -> list[tuple[str, str]]:
    """Codes and names to decide among: the candidates in their order, then every other name."""
    ahead = {one.code: one.name for one in page.candidates}
    rest = Taxon.objects.exclude(code__in=ahead).order_by("common_name")
    return [*ahead.items(), *rest.values_list("code", "common_name")]
