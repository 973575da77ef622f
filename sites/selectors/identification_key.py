"""Reading the key: as rules take it, and its rows for who edits them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.shortcuts import get_object_or_404

from sites.models import LookAlike, Taxon, TaxonTrait, Trait, TraitValue
from sites.rules.identification import key as rules
from sites.rules.identification.words import (
    ADVICE_WORDS,
    EVIDENCE_WORDS,
    SIZE,
    Advice,
    Evidence,
    referral,
)


def whole_key() -> rules.Key:
    """The key of the firm; four queries and one for the pairs."""
    return rules.Key(_traits(), _taxa(), _pairs())


def _traits() -> dict[str, rules.Trait]:
    values: dict[int, dict[str, str]] = defaultdict(dict)
    for one in TraitValue.objects.order_by("position", "pk"):
        values[one.trait_id][one.code] = one.words
    return {
        one.code: rules.Trait(
            one.code, one.name, one.question, values[one.pk], one.excludes, one.help_text
        )
        for one in Trait.objects.order_by("position", "pk")
    }


def _taxa() -> dict[str, rules.Taxon]:
    known = _known()
    return {
        one.code: rules.Taxon(
            one.code,
            one.common_name,
            known[one.pk],
            scientific_name=one.scientific_name,
            kind=one.kind,
            advice=tuple(one.advice),
            advice_text=one.advice_text,
            description=one.description,
            needs_specimen=one.needs_specimen,
            mm_low=one.mm_low,
            mm_high=one.mm_high,
        )
        for one in Taxon.objects.order_by("common_name")
    }


def _known() -> dict[int, dict[str, rules.Known]]:
    rows = TaxonTrait.objects.order_by("value__trait__position", "value__position", "pk")
    found: dict[int, dict[str, rules.Known]] = defaultdict(dict)
    columns = ("taxon_id", "value__trait__code", "value__code", "evidence", "source")
    for taxon, trait, value, evidence, source in rows.values_list(*columns):
        before = found[taxon].get(trait)
        values = frozenset({value}) | (before.values if before else frozenset())
        found[taxon][trait] = rules.Known(values, Evidence(evidence), source)
    return found


def _pairs() -> tuple[rules.LookAlike, ...]:
    columns = ("first__code", "second__code", "trait__code", "source")
    rows = LookAlike.objects.order_by("pk").values_list(*columns)
    return tuple(rules.LookAlike(*row) for row in rows)


def values_by_key() -> dict[tuple[str, str], TraitValue]:
    """Every answer by the codes of its trait and itself; one query."""
    rows = TraitValue.objects.select_related("trait").order_by("trait__position", "position")
    return {(one.trait.code, one.code): one for one in rows}


def taxa() -> QuerySet[Taxon]:
    """Every animal of the key by name, with how many values are known of it as `count`."""
    return Taxon.objects.annotate(count=Count("shown")).order_by("common_name")


def traits() -> QuerySet[Trait]:
    """Every question in its order, with how many answers it has as `count`."""
    return Trait.objects.annotate(count=Count("values")).order_by("position", "pk")


def taxon_for(pk: int) -> Taxon:
    """One animal of the key; otherwise Http404. The key is everybody's in the firm."""
    return get_object_or_404(Taxon, pk=pk)


def trait_for(pk: int) -> Trait:
    """One question of the key; otherwise Http404."""
    return get_object_or_404(Trait, pk=pk)


def taxon_by_code(code: str) -> Taxon | None:
    """One animal of the key, or none."""
    return Taxon.objects.filter(code=code).first()


def shown_by(taxon: Taxon) -> QuerySet[TaxonTrait]:
    """The values of one animal with their traits, in the key's order."""
    rows = TaxonTrait.objects.filter(taxon=taxon).select_related("value__trait")
    return rows.order_by("value__trait__position", "value__position")


def values_of(trait: Trait) -> QuerySet[TraitValue]:
    """The answers of one question in order."""
    return TraitValue.objects.filter(trait=trait).order_by("position", "pk")


@dataclass(frozen=True)
class ShownRow:
    """One trait of one animal in words, with where it is from."""

    name: str
    values: str
    evidence: str
    source: str
    is_read: bool


@dataclass(frozen=True)
class TaxonPage:
    """One animal of the key with its evidence."""

    taxon: Taxon
    advice: tuple[str, ...]
    referral: str
    rows: tuple[ShownRow, ...]
    look_alikes: tuple[tuple[str, str, str], ...]


def taxon_page(pk: int) -> TaxonPage:
    """One animal with every value known of it and those it is taken for; otherwise Http404."""
    taxon = taxon_for(pk)
    words = tuple(ADVICE_WORDS[Advice(one)] for one in taxon.advice)
    return TaxonPage(taxon, words, referral(taxon.advice), _shown_rows(taxon), _beside(taxon))


def _shown_rows(taxon: Taxon) -> tuple[ShownRow, ...]:
    grouped: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for one in shown_by(taxon):
        grouped[one.value.trait.name, one.evidence, one.source].append(one.value.words)
    return tuple(
        ShownRow(
            name,
            " or ".join(values),
            EVIDENCE_WORDS[Evidence(evidence)],
            source,
            evidence == Evidence.READ,
        )
        for (name, evidence, source), values in grouped.items()
    )


def _beside(taxon: Taxon) -> tuple[tuple[str, str, str], ...]:
    rows = LookAlike.objects.filter(Q(first=taxon) | Q(second=taxon))
    return tuple(
        (str(one.second if one.first_id == taxon.pk else one.first), one.trait.name, one.source)
        for one in rows.select_related("first", "second", "trait").order_by("pk")
    )


def answered_traits() -> list[rules.Trait]:
    """The questions whose answers are ticked for an animal; its length is given in mm instead."""
    return [one for one in _traits().values() if one.code != SIZE]


def typed_taxon(taxon: Taxon) -> dict[str, Any]:
    """An animal as one would type it, each question's ticked answers under its own field."""
    names = ("common_name", "scientific_name", "kind", "description", "advice", "advice_text")
    known: dict[str, Any] = {name: getattr(taxon, name) for name in names}
    known |= {name: getattr(taxon, name) for name in ("needs_specimen", "mm_low", "mm_high")}
    for one in shown_by(taxon):
        known.setdefault(f"trait_{one.value.trait.code}", []).append(one.value.code)
    return known
