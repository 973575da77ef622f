"""Reading what was identified: by property, by visit, one with its evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Q
from django.http import Http404

from sites.models import Finding, FindingIdentification, Identification, Pest, Photo, Taxon
from sites.rules.identification.entries import photo_keys
from sites.rules.identification.pages import KeyPage
from sites.rules.identification.words import ADVICE_WORDS, Advice, referral
from sites.selectors.pests import pest_of_taxon
from sites.selectors.photos import photos_named
from sites.selectors.properties import properties_for, zones_of

if TYPE_CHECKING:
    from accounts.models import Person

SHOWN, LONGEST_KEY = 20, 9


@dataclass(frozen=True)
class IdentificationPage:
    """One identification with its evidence in words."""

    row: Identification
    advice: tuple[str, ...]
    referral: str
    photos: Sequence[Photo] = ()
    pest: Pest | None = None
    finding: Finding | None = None

    @property
    def is_treated(self) -> bool:
        """Whether the advice then was to put something down."""
        return bool({Advice.TREAT, Advice.BAIT}.intersection(self.row.advice))


def identifications_of(property_id: int) -> Sequence[Identification]:
    """The newest identifications at a property, with who made them; one query."""
    rows = Identification.objects.filter(property_id=property_id).select_related("by", "zone")
    return list(rows.order_by("-at", "-pk")[:SHOWN])


def identification_page(person: Person, pk: int) -> IdentificationPage:
    """One identification at a property the person may see, or their own; otherwise Http404."""
    rows = Identification.objects.select_related(
        "property__branch", "property__customer", "by", "zone", "taxon"
    )
    mine = Q(property__in=properties_for(person)) | Q(by=person)
    row = rows.filter(mine, pk=pk).first()
    if row is None:
        raise Http404("No such identification.")
    words = tuple(ADVICE_WORDS[Advice(one)] for one in row.advice)
    of_finding = FindingIdentification.objects.filter(identification=row).first()
    return IdentificationPage(
        row,
        words,
        referral(row.advice),
        photos=photos_named(row.property_id, photo_keys(row.photo_ref)),
        pest=pest_of_taxon(row.taxon),
        finding=of_finding.finding if of_finding else None,
    )


def identification_at(property_id: int, asked: str) -> Identification | None:
    """The identification at a property that an address names and no finding has yet, or none."""
    if not asked.isdecimal() or len(asked) > LONGEST_KEY:
        return None
    rows = Identification.objects.filter(property=property_id, of_finding=None)
    return rows.select_related("taxon").filter(pk=int(asked)).first()


def zone_choices(property_id: int) -> list[tuple[int, str]]:
    """Keys and names of the zones a finding may lie in."""
    return [(zone.pk, zone.name) for zone in zones_of(property_id)]


def candidate_choices(page: KeyPage) -> list[tuple[str, str]]:
    """Codes and names to decide among: the candidates in their order, then every other name."""
    ahead = {one.code: one.name for one in page.candidates}
    rest = Taxon.objects.exclude(code__in=ahead).order_by("common_name")
    return [*ahead.items(), *rest.values_list("code", "common_name")]
