"""The key's own rows: ours loaded once, the firm's added and changed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction
from django.utils.text import slugify

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line, one_of
from accounts.services.audit import note_event
from sites.models import LookAlike, Taxon, TaxonTrait, Trait, TraitValue
from sites.rules.identification import key as rules
from sites.rules.identification.entries import NewTaxon, NewTrait, refuse_sizes, value_lines
from sites.rules.identification.key_file import read_key
from sites.rules.identification.words import KIND_WORDS, SIZE, UNKNOWN, Advice, Evidence
from sites.selectors.identification_key import taxon_for, trait_for, values_by_key

if TYPE_CHECKING:
    from accounts.models import Person

OURS = Path(__file__).parents[1] / "identification_key.txt"
CODE_LENGTH = 30
Values = Mapping[tuple[str, str], TraitValue]


@transaction.atomic
def load_key() -> int:
    """Store every trait, value, taxon and pair of our file that is not there yet; how many taxa.

    A row that is there stays as it is, so what the firm has changed is never changed back.
    """
    key = read_key(OURS.read_text(encoding="utf-8"))
    _load_traits(key)
    new = _load_taxa(key)
    if new:
        _load_pairs(key, new)
        note_event(by=None, act="key_loaded", thing="identification key", count=len(new))
    return len(new)


def _load_traits(key: rules.Key) -> None:
    there = {one.code: one for one in Trait.objects.all()}
    for position, trait in enumerate(key.traits.values()):
        if trait.code not in there:
            there[trait.code] = Trait.objects.create(
                code=trait.code,
                name=trait.name,
                question=trait.question,
                help_text=trait.help_text,
                excludes=trait.excludes,
                position=position,
            )
    known = values_by_key()
    TraitValue.objects.bulk_create(
        TraitValue(trait=there[trait.code], code=code, words=words, position=position)
        for trait in key.traits.values()
        for position, (code, words) in enumerate(trait.values.items())
        if (trait.code, code) not in known
    )


def _load_taxa(key: rules.Key) -> set[str]:
    """A name that the firm has entered itself stays the firm's."""
    codes = set(Taxon.objects.values_list("code", flat=True))
    names = {name.casefold() for name in Taxon.objects.values_list("common_name", flat=True)}
    new = [
        one
        for one in key.taxa.values()
        if one.code not in codes and one.common_name.casefold() not in names
    ]
    Taxon.objects.bulk_create(Taxon(edition=key.edition, **_columns(one)) for one in new)
    _show(new)
    return {one.code for one in new}


def _columns(one: rules.Taxon) -> dict[str, Any]:
    return {
        "code": one.code,
        "common_name": one.common_name,
        "scientific_name": one.scientific_name,
        "kind": one.kind,
        "description": one.description,
        "advice": list(one.advice),
        "advice_text": one.advice_text,
        "needs_specimen": one.needs_specimen,
        "mm_low": one.mm_low,
        "mm_high": one.mm_high,
    }


def _show(new: Sequence[rules.Taxon]) -> None:
    values = values_by_key()
    rows = {one.code: one for one in Taxon.objects.all()}
    TaxonTrait.objects.bulk_create(
        TaxonTrait(
            taxon=rows[one.code],
            value=values[code, value],
            evidence=known.evidence,
            source=known.source,
        )
        for one in new
        for code, known in one.traits.items()
        for value in sorted(known.values)
    )


def _load_pairs(key: rules.Key, new: Collection[str]) -> None:
    """The pairs in which a new taxon stands; on a first start these are all."""
    taxa = {one.code: one for one in Taxon.objects.all()}
    traits = {one.code: one for one in Trait.objects.all()}
    LookAlike.objects.bulk_create(
        LookAlike(
            first=taxa[pair.first],
            second=taxa[pair.second],
            trait=traits[pair.trait],
            source=pair.source,
        )
        for pair in key.look_alikes
        if {pair.first, pair.second} & set(new) and {pair.first, pair.second} <= set(taxa)
    )


@transaction.atomic
def add_taxon(*, taxon: NewTaxon, by: Person | None) -> Taxon:
    """Add an animal of the firm's own to the key.

    Refused, naming the field: no name or one that is there, lengths out of order, an unknown
    kind, advice or value.
    """
    require(by, Permission.EDIT_LABELS)
    row = Taxon(code=_code(taxon.common_name, Taxon), is_firms_own=True, created_by=by)
    return _store_taxon(row, taxon, "taxon_added", by)


@transaction.atomic
def edit_taxon(*, taxon_id: int, taxon: NewTaxon, by: Person | None) -> Taxon:
    """Change an animal of the key; it and every changed value are the firm's from then on.

    Refused as in `add_taxon`. What was identified before keeps its own words.
    """
    require(by, Permission.EDIT_LABELS)
    row = taxon_for(taxon_id)
    row.is_firms_own = True
    return _store_taxon(row, taxon, "taxon_edited", by)


def _store_taxon(row: Taxon, new: NewTaxon, act: str, by: Person | None) -> Taxon:
    row.common_name = line(new.common_name, field="common_name", label="Common name", most=80)
    if Taxon.objects.filter(common_name__iexact=row.common_name).exclude(pk=row.pk).exists():
        raise _there(row.common_name, "common_name")
    row.scientific_name = _text(new.scientific_name, "scientific_name", "Scientific name", 120)
    row.kind = one_of(new.kind, list(KIND_WORDS), field="kind", label="Kind")
    row.description = _text(new.description, "description", "Description", 400)
    row.advice = [one_of(one, list(Advice), field="advice", label="Advice") for one in new.advice]
    row.advice_text = _text(new.advice_text, "advice_text", "What to do", 400)
    row.needs_specimen = new.needs_specimen
    refuse_sizes(new.mm_low, new.mm_high)
    row.mm_low, row.mm_high = new.mm_low, new.mm_high
    with _once(row.common_name, "common_name"):
        row.save()
    _keep_values(row, new)
    note_event(by=by, act=act, thing=row)
    return row


def _keep_values(row: Taxon, new: NewTaxon) -> None:
    """Values that stay keep where they are from; those ticked now are the firm's own."""
    values = values_by_key()
    wanted = _wanted(new, values)
    TaxonTrait.objects.filter(taxon=row).exclude(value__in=wanted).delete()
    there = set(TaxonTrait.objects.filter(taxon=row).values_list("value", flat=True))
    source = _text(new.source, "source", "Source", 200)
    TaxonTrait.objects.bulk_create(
        TaxonTrait(taxon=row, value_id=pk, evidence=Evidence.FIRM, source=source)
        for pk in wanted
        if pk not in there
    )


def _wanted(new: NewTaxon, values: Values) -> list[int]:
    asked = [(code, one) for code, chosen in new.traits.items() for one in chosen if code != SIZE]
    if new.mm_low is not None and new.mm_high is not None:
        asked += [(SIZE, one) for one in sorted(rules.size_values(new.mm_low, new.mm_high))]
    for code, one in asked:
        if (code, one) not in values:
            raise Refused("choice", "Choose from the list.", field=f"trait_{code}")
    return [values[one].pk for one in asked]


@transaction.atomic
def add_trait(*, trait: NewTrait, by: Person | None) -> Trait:
    """Add a question of the firm's own with its answers.

    Refused, naming the field: no name or question, fewer than two answers, the same one twice.
    """
    require(by, Permission.EDIT_LABELS)
    row = Trait(code=_code(trait.name, Trait), is_firms_own=True, created_by=by)
    row.position = Trait.objects.count()
    return _store_trait(row, trait, "trait_added", least=2, by=by)


@transaction.atomic
def edit_trait(*, trait_id: int, trait: NewTrait, by: Person | None) -> Trait:
    """Change the words of a question and add answers; answers that are there stay.

    Refused as in `add_trait`.
    """
    require(by, Permission.EDIT_LABELS)
    row = trait_for(trait_id)
    row.is_firms_own = True
    return _store_trait(row, trait, "trait_edited", least=0, by=by)


def _store_trait(row: Trait, new: NewTrait, act: str, *, least: int, by: Person | None) -> Trait:
    row.name = line(new.name, field="name", label="Name", most=60)
    row.question = line(new.question, field="question", label="Question", most=160)
    row.help_text = _text(new.help_text, "help_text", "Help", 200)
    there = [one.words for one in row.values.all()] if row.pk else []
    words = value_lines(new.answers, there=there, least=least)
    if words and row.code == SIZE:
        raise Refused("lengths", "The classes of length are fixed.", field="answers")
    with _once(row.name, "name"):
        row.save()
    _add_values(row, words, by)
    note_event(by=by, act=act, thing=row)
    return row


def _add_values(row: Trait, words: Sequence[str], by: Person | None) -> None:
    taken = set(row.values.values_list("code", flat=True)) | {UNKNOWN}
    for position, one in enumerate(words, start=len(taken)):
        code = free_code(one, taken)
        taken.add(code)
        TraitValue.objects.create(trait=row, code=code, words=one, position=position, created_by=by)


def free_code(words: str, taken: Iterable[str]) -> str:
    """A short code of the words that is none of `taken`."""
    start = slugify(words).replace("-", "_")[: CODE_LENGTH - 4] or "own"
    known, number, code = set(taken), 1, start
    while code in known:
        number += 1
        code = f"{start}_{number}"
    return code


def _code(words: str, model: type[Taxon] | type[Trait]) -> str:
    return free_code(words, model.objects.values_list("code", flat=True))


def _text(typed: str, field: str, label: str, most: int) -> str:
    return line(typed, field=field, label=label, most=most, needed=False)


@contextmanager
def _once(what: str, field: str) -> Iterator[None]:
    try:
        with transaction.atomic():
            yield
    except IntegrityError as failure:
        raise _there(what, field) from failure


def _there(what: str, field: str) -> Refused:
    return Refused("exists", f"{what} is in the key already.", field=field)
