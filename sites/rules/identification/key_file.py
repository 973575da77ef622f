"""Reading our own key file: one line a fact, `#` a remark; a wrong line is refused by number."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal, InvalidOperation

from sites.rules.identification.key import Key, Known, LookAlike, Taxon, Trait, size_values
from sites.rules.identification.words import SIZE, Advice, Evidence, TaxonKind


class BadKeyFile(ValueError):
    """A line that cannot be read."""


@dataclass
class _Draft:
    """What was read so far."""

    edition: str = ""
    sources: dict[str, str] = field(default_factory=dict)
    traits: dict[str, Trait] = field(default_factory=dict)
    taxa: dict[str, Taxon] = field(default_factory=dict)
    pairs: list[LookAlike] = field(default_factory=list)


def read_key(text: str) -> Key:
    """The key that a file of ours holds.

    Refused as `BadKeyFile`: an unknown word, a code that is not declared above its use.
    """
    draft = _Draft()
    for number, line in enumerate(text.splitlines(), start=1):
        word, _, rest = line.strip().partition(" ")
        if not word or word.startswith("#"):
            continue
        try:
            READERS[word](draft, rest.strip())
        except (KeyError, ValueError, IndexError, InvalidOperation) as failure:
            raise BadKeyFile(f"Line {number} cannot be read: {line.strip()}") from failure
    return Key(draft.traits, draft.taxa, tuple(draft.pairs), draft.edition)


def _parts(rest: str) -> list[str]:
    return [part.strip() for part in rest.split("|")]


def _edition(draft: _Draft, rest: str) -> None:
    draft.edition = date.fromisoformat(rest).isoformat()


def _source(draft: _Draft, rest: str) -> None:
    name, _, words = rest.partition(" ")
    draft.sources[name] = words


def _trait(draft: _Draft, rest: str) -> None:
    head, question, *more = _parts(rest)
    code, _, name = head.partition(" ")
    bare = code.rstrip("!")
    help_text = more[0] if more else ""
    draft.traits[bare] = Trait(bare, name, question, {}, code.endswith("!"), help_text)


def _value(draft: _Draft, rest: str) -> None:
    code, _, words = rest.partition(" ")
    last = list(draft.traits)[-1]
    trait = draft.traits[last]
    draft.traits[last] = replace(trait, values={**trait.values, code: words})


def _taxon(draft: _Draft, rest: str) -> None:
    code, common, scientific, kind, advice = _parts(rest)
    draft.taxa[code] = Taxon(
        code,
        common,
        {},
        scientific_name=scientific,
        kind=TaxonKind(kind),
        advice=tuple(Advice(one) for one in advice.split()),
    )


def _change(draft: _Draft, **facts: object) -> None:
    last = list(draft.taxa)[-1]
    draft.taxa[last] = replace(draft.taxa[last], **facts)  # type: ignore[arg-type]


def _add(draft: _Draft, code: str, known: Known) -> None:
    last = draft.taxa[list(draft.taxa)[-1]]
    _change(draft, traits={**last.traits, code: known})


def _known(draft: _Draft, values: frozenset[str], words: list[str]) -> Known:
    evidence = Evidence(words[0]) if words else Evidence.MEMORY
    source = draft.sources[words[1]] if len(words) > 1 else ""
    return Known(values, evidence, source)


def _size(draft: _Draft, rest: str) -> None:
    length, *words = rest.split()
    low, high = (Decimal(one) for one in length.split("-"))
    _change(draft, mm_low=low, mm_high=high)
    _add(draft, SIZE, _known(draft, size_values(low, high), words))


def _has(draft: _Draft, rest: str) -> None:
    code, values, *words = rest.split()
    chosen = frozenset(values.split(","))
    if not chosen <= set(draft.traits[code].values):
        raise KeyError(values)
    _add(draft, code, _known(draft, chosen, words))


def _pair(draft: _Draft, rest: str) -> None:
    first, second, trait, *words = rest.split()
    names = (draft.taxa[first].code, draft.taxa[second].code, draft.traits[trait].code)
    draft.pairs.append(LookAlike(*names, source=draft.sources[words[0]] if words else ""))


READERS: Mapping[str, Callable[[_Draft, str], None]] = {
    "edition": _edition,
    "source": _source,
    "trait": _trait,
    "value": _value,
    "taxon": _taxon,
    "size": _size,
    "text": lambda draft, rest: _change(draft, description=rest),
    "say": lambda draft, rest: _change(draft, advice_text=rest),
    "specimen": lambda draft, rest: _change(draft, needs_specimen=True),
    "has": _has,
    "pair": _pair,
}
