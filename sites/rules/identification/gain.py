"""The next best question: the trait whose answer tells most about which taxon it is.

Information gain is the mutual information of taxon and answer (Shannon 1948), in bits, with
every remaining taxon equally likely. A taxon that shows several values gives each as often; one
of which the trait is not known may give any answer (house rule).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2

from sites.rules.identification.key import Key, Taxon, Trait
from sites.rules.identification.ranking import Seen

LEAST_BITS = 1e-6


@dataclass(frozen=True)
class Question:
    """A trait not asked yet, with what its answer tells, in bits."""

    trait: Trait
    bits: float


def entropy(shares: Iterable[float]) -> float:
    """Shannon's entropy in bits of shares that add up to one."""
    return -sum(share * log2(share) for share in shares if share > 0)


def _answers(trait: Trait, taxon: Taxon) -> frozenset[str]:
    known = taxon.traits.get(trait.code)
    return known.values if known and known.values else frozenset(trait.values)


def information_gain(trait: Trait, taxa: Sequence[Taxon]) -> float:
    """Bits that the answer to `trait` is expected to tell about which of `taxa` it is."""
    if len(taxa) < 2 or not trait.values:
        return 0.0
    given = [_answers(trait, taxon) for taxon in taxa]
    shares = [
        sum(1 / len(values) for values in given if value in values) / len(taxa)
        for value in trait.values
    ]
    noise = sum(log2(len(values)) for values in given) / len(taxa)
    return max(0.0, entropy(shares) - noise)


def questions(key: Key, seen: Seen, taxa: Sequence[Taxon]) -> tuple[Question, ...]:
    """Traits not asked yet, the most telling first; equal ones in the key's own order."""
    asked = [
        Question(trait, information_gain(trait, taxa))
        for code, trait in key.traits.items()
        if code not in seen
    ]
    return tuple(sorted(asked, key=lambda one: -round(one.bits, 9)))
