"""What the key holds: traits with their values, taxa with the values they may show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from sites.rules.identification.words import Evidence

# lower edges of the length classes in mm; a class reaches up to the next edge
SIZE_EDGES: Mapping[str, Decimal] = {
    code: Decimal(low)
    for code, low in (
        *(("s0", 0), ("s2", 2), ("s4", 4), ("s7", 7)),
        *(("s11", 11), ("s17", 17), ("s30", 30), ("s60", 60)),
    )
}


@dataclass(frozen=True)
class Trait:
    """One question; `values` are code and words, `excludes` makes a contradiction final."""

    code: str
    name: str
    question: str
    values: Mapping[str, str]
    excludes: bool = False
    help_text: str = ""


@dataclass(frozen=True)
class Known:
    """The values of one trait that a taxon may show, and how that is known."""

    values: frozenset[str]
    evidence: Evidence = Evidence.MEMORY
    source: str = ""


@dataclass(frozen=True)
class Taxon:
    """One animal of the key; a trait missing in `traits` is not known of it."""

    code: str
    common_name: str
    traits: Mapping[str, Known]
    scientific_name: str = ""
    kind: str = ""
    advice: tuple[str, ...] = ()
    advice_text: str = ""
    description: str = ""
    needs_specimen: bool = False
    mm_low: Decimal | None = None
    mm_high: Decimal | None = None


@dataclass(frozen=True)
class LookAlike:
    """Two taxa taken for each other, and the trait a publication separates them by."""

    first: str
    second: str
    trait: str
    source: str = ""

    def other(self, code: str) -> str:
        return self.second if code == self.first else self.first


@dataclass(frozen=True)
class Key:
    """The whole key by code; traits stand in the order they are listed."""

    traits: Mapping[str, Trait]
    taxa: Mapping[str, Taxon]
    look_alikes: tuple[LookAlike, ...] = ()
    edition: str = ""


def size_values(low: Decimal, high: Decimal) -> frozenset[str]:
    """The length classes that a body of `low` to `high` mm may fall into."""
    edges = list(SIZE_EDGES.items())
    uppers = [edge for _, edge in edges[1:]] + [Decimal("Infinity")]
    return frozenset(
        code
        for (code, lower), upper in zip(edges, uppers, strict=True)
        if low < upper and high >= lower
    )


def separating(first: Taxon, second: Taxon) -> tuple[str, ...]:
    """The traits known of both of which they never share a value, in the first one's order."""
    return tuple(
        code
        for code, known in first.traits.items()
        if code in second.traits and not known.values & second.traits[code].values
    )
