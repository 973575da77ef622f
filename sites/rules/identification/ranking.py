"""What was seen against what is known: candidates in order, with what speaks for and against."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from accounts.refusals import Refused
from sites.rules.identification.key import Key, Taxon
from sites.rules.identification.words import UNKNOWN

Seen = Mapping[str, frozenset[str]]
MOST_ANSWERS = 200


@dataclass(frozen=True)
class Standing:
    """One taxon after the answers: codes of the traits for it, against it, and final ones."""

    taxon: Taxon
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]
    final: tuple[str, ...]

    @property
    def is_excluded(self) -> bool:
        return bool(self.final)

    @property
    def order(self) -> tuple[bool, int, int, str]:
        balance = len(self.against) - len(self.speaks_for)
        return self.is_excluded, balance, len(self.against), self.taxon.common_name


def read_answers(key: Key, answers: Iterable[str]) -> tuple[Seen, tuple[str, ...]]:
    """Answers like `legs.six` as trait and values, and those that the key does not hold.

    `legs.unknown` marks a trait as asked with no value; a value given beside it counts.
    """
    seen: dict[str, frozenset[str]] = {}
    strange: list[str] = []
    for answer in list(answers)[:MOST_ANSWERS]:
        code, _, value = answer.partition(".")
        trait = key.traits.get(code)
        if trait is None or (value != UNKNOWN and value not in trait.values):
            strange.append(answer)
            continue
        seen[code] = seen.get(code, frozenset()) | ({value} - {UNKNOWN})
    return seen, tuple(strange)


def written(seen: Seen) -> tuple[str, ...]:
    """The same answers as text, in an order of their own."""
    return tuple(
        f"{code}.{value}" for code in sorted(seen) for value in sorted(seen[code]) or [UNKNOWN]
    )


def standing(key: Key, taxon: Taxon, seen: Seen) -> Standing:
    """How one taxon stands; a trait not known of it, or not seen, says nothing.

    Several values of one trait mean: one of these. House rule: one trait is one vote.
    """
    told = [code for code in key.traits if seen.get(code) and code in taxon.traits]
    fits = {code: bool(seen[code] & taxon.traits[code].values) for code in told}
    against = tuple(code for code in told if not fits[code])
    return Standing(
        taxon,
        speaks_for=tuple(code for code in told if fits[code]),
        against=against,
        final=tuple(code for code in against if key.traits[code].excludes),
    )


def ranked(key: Key, seen: Seen) -> tuple[Standing, ...]:
    """Every taxon: most votes for less votes against first, excluded ones last, then by name."""
    rows = (standing(key, taxon, seen) for taxon in key.taxa.values())
    return tuple(sorted(rows, key=lambda row: row.order))


def remaining(rows: Iterable[Standing]) -> tuple[Taxon, ...]:
    """The taxa still in question: not excluded, and nothing or least speaks against them."""
    open_rows = [row for row in rows if not row.is_excluded]
    least = min((len(row.against) for row in open_rows), default=0)
    return tuple(row.taxon for row in open_rows if len(row.against) == least)


def refuse_decision(key: Key, rows: Iterable[Standing], seen: Seen, code: str) -> None:
    """Refuse evidence without a trait, an unknown taxon, one that legs or wings exclude."""
    if not any(seen.values()):
        raise Refused("no_traits", "No trait was seen. Answer at least one question first.")
    if not code:
        return
    chosen = next((row for row in rows if row.taxon.code == code), None)
    if chosen is None:
        raise Refused("unknown_taxon", "Choose one from the list.", field="taxon")
    if chosen.is_excluded:
        names = " and ".join(key.traits[one].name.lower() for one in chosen.final)
        raise Refused(
            "excluded",
            f"{chosen.taxon.common_name} is ruled out by the {names} that were seen. "
            "Take that answer away if it was a slip, or choose another.",
            field="taxon",
        )
