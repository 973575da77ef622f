"""A condition as rows of one yes-or-no question each, for people who type no JSON, and back.

Rows of one condition are joined by all or by any; what is nested deeper has no such rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from accounts.refusals import Refused
from treatments.rules.predicates import COMPARED, FACT_WORDS, Condition, Fact

DISTANCE, UNITS = "max_distance_from_structure_ft<=", "units>="
COMPARED_WORDS: Mapping[str, str] = {
    DISTANCE: "it is all within so many ft of a structure",
    UNITS: "the property has so many units or more",
}
ASKED_WORDS: Mapping[str, str] = {**{str(one): FACT_WORDS[one] for one in Fact}, **COMPARED_WORDS}
MOST_NUMBER = 9999


class Join(StrEnum):
    """How the rows of one condition go together."""

    ALL = "all"
    ANY = "any"


JOIN_WORDS: Mapping[Join, str] = {
    Join.ALL: "all rows of it",
    Join.ANY: "any row of it",
}


@dataclass(frozen=True)
class Literal:
    """One question of the closed set, and whether yes or no is wanted; `number` of a comparison."""

    asked: str
    is_wanted: bool = True
    number: int | None = None


Rows = tuple[Join, tuple[Literal, ...]]


def rows_of(condition: Condition) -> Rows | None:
    """The rows of a condition; none for one that always holds, None for what is nested deeper."""
    if isinstance(condition, str):
        return Join.ALL, (_literal(condition),)
    (word, inner), *_ = condition.items()
    if word == "not":
        return _denied(inner)
    return _joined(Join(word), inner, is_wanted=True)


def _denied(inner: Condition) -> Rows | None:
    """Not any of them is none of all; not all of them is one of them that is not."""
    if isinstance(inner, str):
        return Join.ALL, (_literal(inner, is_wanted=False),)
    (word, several), *_ = inner.items()
    if word == "not":
        return rows_of(several)
    other = Join.ANY if word == Join.ALL else Join.ALL
    return _joined(other, several, is_wanted=False)


def _joined(join: Join, several: Sequence[Condition], *, is_wanted: bool) -> Rows | None:
    found = [_single(one, is_wanted) for one in several]
    literals = tuple(one for one in found if one is not None)
    # any of nothing never holds, and no row says so
    if len(literals) < len(found) or (join == Join.ANY and not found):
        return None
    return join, literals


def _single(condition: Condition, is_wanted: bool) -> Literal | None:
    if isinstance(condition, str):
        return _literal(condition, is_wanted=is_wanted)
    inner = condition.get("not")
    return _literal(inner, is_wanted=not is_wanted) if isinstance(inner, str) else None


def _literal(name: str, *, is_wanted: bool = True) -> Literal:
    compared = COMPARED.fullmatch(name)
    if compared is None:
        return Literal(name, is_wanted)
    return Literal(compared[1], is_wanted, int(compared[2]))


def condition_of(join: Join, literals: Sequence[Literal]) -> Condition:
    """The condition of some rows; no rows at all always hold.

    Refused: a comparison without its number, or a number that stands beside none.
    """
    names = [_name(one) for one in literals]
    if not names:
        return {"all": []}
    if len(names) == 1:
        return names[0] if literals[0].is_wanted else {"not": names[0]}
    if not any(one.is_wanted for one in literals):
        return {"not": {str(Join.ANY if join == Join.ALL else Join.ALL): names}}
    pairs = zip(names, literals, strict=True)
    return {str(join): [name if one.is_wanted else {"not": name} for name, one in pairs]}


def _name(one: Literal) -> str:
    words = ASKED_WORDS[one.asked]
    if one.asked not in COMPARED_WORDS:
        if one.number is not None:
            raise Refused("condition", f"No number belongs to: {words}. Take it out.")
        return one.asked
    if one.number is None or not 0 <= one.number <= MOST_NUMBER:
        raise Refused("condition", f"Write how many, 0 to {MOST_NUMBER}, for: {words}.")
    return f"{one.asked}{one.number}"
