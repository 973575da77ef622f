"""The key as a page: what was seen, the next question, candidates, look-alikes, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from sites.rules.identification.gain import LEAST_BITS, Question, questions
from sites.rules.identification.key import Key, LookAlike, Taxon, Trait, separating
from sites.rules.identification.ranking import (
    Seen,
    Standing,
    ranked,
    read_answers,
    remaining,
    written,
)
from sites.rules.identification.words import (
    ADVICE_WORDS,
    EVIDENCE_WORDS,
    SIZE,
    SPECIMEN_SENTENCE,
    UNKNOWN,
    Advice,
    Evidence,
    referral,
)

SHOWN_CANDIDATES, SHOWN_PAIRS, FEW = 6, 4, 4


@dataclass(frozen=True)
class Chip:
    """Something seen, and the address without it."""

    words: str
    without: str


@dataclass(frozen=True)
class Ask:
    """A question: its answers as they go into the address, with their words."""

    code: str
    name: str
    question: str
    help_text: str
    answers: tuple[tuple[str, str], ...]
    unknown: str


@dataclass(frozen=True)
class Candidate:
    """One taxon in its place, with what speaks for and against it."""

    place: int
    code: str
    name: str
    scientific: str
    description: str
    advice: tuple[str, ...]
    advice_text: str
    specimen: str
    referral: str
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]
    record: str


@dataclass(frozen=True)
class Side:
    """What one taxon of a pair shows, and how that is known."""

    words: str
    evidence: str


@dataclass(frozen=True)
class PairRow:
    """One trait that separates two taxa."""

    name: str
    first: Side
    second: Side
    is_published: bool


@dataclass(frozen=True)
class Pair:
    """Two taxa side by side; `source` is who says what separates them."""

    first: str
    second: str
    rows: tuple[PairRow, ...]
    source: str


@dataclass(frozen=True)
class KeyPage:
    """Everything the page of the key shows."""

    answers: tuple[str, ...]
    query: str
    chips: tuple[Chip, ...]
    strange: int
    next: Ask | None
    others: tuple[Ask, ...]
    candidates: tuple[Candidate, ...]
    leader: Candidate | None
    left: int
    excluded: int
    total: int
    pairs: tuple[Pair, ...]

    @property
    def is_contradiction(self) -> bool:
        return self.total > 0 and self.left == 0


def key_page(key: Key, answers: Iterable[str]) -> KeyPage:
    """The page for answers like `legs.six` as they stand in the address, in any order."""
    seen, strange = read_answers(key, answers)
    rows = ranked(key, seen)
    still = remaining(rows)
    open_rows = [row for row in rows if not row.is_excluded]
    asked = questions(key, seen, still)
    asks = [_ask(one) for one in asked]
    is_telling = bool(asked) and asked[0].bits > LEAST_BITS
    shown = [row for row in open_rows if row.speaks_for][:SHOWN_CANDIDATES]
    candidates = tuple(_candidate(key, seen, row, n) for n, row in enumerate(shown, start=1))
    leads = _leads(open_rows) and bool(candidates)
    return KeyPage(
        answers=written(seen),
        query=_query(written(seen)),
        chips=_chips(key, seen),
        strange=len(strange),
        next=asks[0] if is_telling else None,
        others=tuple(asks[1:] if is_telling else asks),
        candidates=candidates,
        leader=candidates[0] if leads else None,
        left=len(still),
        excluded=len(rows) - len(open_rows),
        total=len(rows),
        pairs=_pairs(key, open_rows, still) if candidates and (leads or len(still) <= FEW) else (),
    )


def _leads(rows: Sequence[Standing]) -> bool:
    """One is ahead of all others by what speaks for and against."""
    return bool(rows) and (len(rows) == 1 or rows[0].order[:3] < rows[1].order[:3])


def _query(answers: Iterable[str], **more: str) -> str:
    return urlencode([*(("seen", one) for one in answers), *more.items()])


def _words(trait: Trait, values: Iterable[str]) -> str:
    chosen = set(values)
    return " or ".join(words for value, words in trait.values.items() if value in chosen)


def shown_words(trait: Trait, taxon: Taxon) -> str:
    """What a taxon shows of a trait; its length as it was measured, not in classes."""
    if trait.code == SIZE and taxon.mm_low is not None and taxon.mm_high is not None:
        return f"{taxon.mm_low.normalize():f} to {taxon.mm_high.normalize():f}\u00a0mm"
    return _words(trait, taxon.traits[trait.code].values)


def _chips(key: Key, seen: Seen) -> tuple[Chip, ...]:
    def words(answer: str) -> str:
        code, _, value = answer.partition(".")
        trait = key.traits[code]
        shown = "cannot see" if value == UNKNOWN else trait.values[value]
        return f"{trait.name}: {shown}"

    every = written(seen)
    return tuple(
        Chip(words(one), _query(other for other in every if other != one)) for one in every
    )


def _ask(one: Question) -> Ask:
    trait = one.trait
    answers = tuple((f"{trait.code}.{value}", words) for value, words in trait.values.items())
    unknown = f"{trait.code}.{UNKNOWN}"
    return Ask(trait.code, trait.name, trait.question, trait.help_text, answers, unknown)


def _candidate(key: Key, seen: Seen, row: Standing, place: int) -> Candidate:
    taxon = row.taxon
    traits = key.traits
    for_it = (f"{traits[code].name}: {_words(traits[code], seen[code])}" for code in row.speaks_for)
    against = (f"{traits[code].name}: {shown_words(traits[code], taxon)}" for code in row.against)
    return Candidate(
        place=place,
        code=taxon.code,
        name=taxon.common_name,
        scientific=taxon.scientific_name,
        description=taxon.description,
        advice=tuple(ADVICE_WORDS[Advice(one)] for one in taxon.advice),
        advice_text=taxon.advice_text,
        specimen=SPECIMEN_SENTENCE if taxon.needs_specimen else "",
        referral=referral(taxon.advice),
        speaks_for=tuple(for_it),
        against=tuple(against),
        record=_query(written(seen), taxon=taxon.code),
    )


def _pairs(key: Key, rows: Sequence[Standing], still: Sequence[Taxon]) -> tuple[Pair, ...]:
    """The first candidate beside those it is taken for, and beside the next ones in question."""
    first = rows[0].taxon
    known = [one for one in key.look_alikes if first.code in (one.first, one.second)]
    beside = {one.other(first.code): one for one in known}
    close = [taxon.code for taxon in still if taxon.code != first.code][: FEW - 1]
    for code in close if len(still) <= FEW else []:
        beside.setdefault(code, LookAlike(first.code, code, ""))
    pairs = (_pair(key, first, key.taxa[code], one) for code, one in beside.items())
    return tuple(pair for pair in pairs if pair.rows)[:SHOWN_PAIRS]


def _pair(key: Key, first: Taxon, second: Taxon, known: LookAlike) -> Pair:
    codes = sorted(separating(first, second), key=lambda code: code != known.trait)
    rows = tuple(
        PairRow(
            key.traits[code].name,
            _side(key.traits[code], first),
            _side(key.traits[code], second),
            code == known.trait and bool(known.source),
        )
        for code in codes
    )
    return Pair(first.common_name, second.common_name, rows, known.source)


def _side(trait: Trait, taxon: Taxon) -> Side:
    """The evidence is said where a value is not read in a publication."""
    evidence = taxon.traits[trait.code].evidence
    mark = "" if evidence is Evidence.READ else EVIDENCE_WORDS[evidence]
    return Side(shown_words(trait, taxon), mark)
