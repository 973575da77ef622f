"""Which factors shorten a label claim on one zone, and how that is said.

The table is the firm's: a row holds from its day until another one of the same key. What this
module brings along is only what was published as a ratio; everything else is 1 until a manager
enters a row, and that is a house rule unless the row names its source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

from accounts.refusals import Refused
from sites.rules.places import EXPOSURE_WORDS, SURFACE_WORDS, Exposure, Surface
from treatments.rules.products import Formulation
from treatments.rules.residual import Factors

ALWAYS = date.min
HOUSE_RULE = "house rule"


class FactorKind(StrEnum):
    """What shortens a claim."""

    SURFACE = "surface"
    EXPOSURE = "exposure"
    RAIN = "rain"
    HEAT = "heat"


FACTOR_WORDS: Mapping[StrEnum, str] = {
    FactorKind.SURFACE: "Surface",
    FactorKind.EXPOSURE: "Exposure",
    FactorKind.RAIN: "Rain",
    FactorKind.HEAT: "Heat",
}


@dataclass(frozen=True)
class FactorRow:
    """One factor of the table; an empty part of its key fits everything.

    `first_month` to `last_month`, both included, may run over the new year. `source` names a
    publication; without one the row is a house rule. `pk` is 0 for what this module brings along.
    """

    kind: str
    factor: Decimal
    from_on: date
    ingredient: str = ""
    formulation: str = ""
    surface: str = ""
    exposure: str = ""
    first_month: int = 1
    last_month: int = 12
    source: str = ""
    pk: int = 0

    @property
    def key(self) -> tuple[object, ...]:
        """What a later row must say too to take this one's place."""
        parts = (self.kind, self.ingredient.casefold(), self.formulation, self.surface)
        return (*parts, self.exposure, self.first_month, self.last_month)

    @property
    def closeness(self) -> tuple[int, int]:
        """How closely it fits: the parts named, then how few months."""
        named = (self.ingredient, self.formulation, self.surface, self.exposure)
        return sum(map(bool, named)), -((self.last_month - self.first_month) % 12)

    @property
    def basis(self) -> str:
        return self.source or HOUSE_RULE


# 42 to 56 days on cement and whitewash, more than 152 on wood and metal (read): at most 0.28 to
# 0.37. A trial of 2011 (PMC3233609, read) found concrete nearer to wood, so it may be too short.
PUBLISHED: tuple[FactorRow, ...] = (
    FactorRow(
        FactorKind.SURFACE,
        Decimal("0.35"),
        ALWAYS,
        ingredient="lambda-cyhalothrin",
        formulation=Formulation.CS,
        surface=Surface.POROUS_MASONRY,
        source="PMC4392635",
    ),
)


@dataclass(frozen=True)
class TreatedSurface:
    """What a factor looks at: the product, the zone as it was, and the day."""

    on: date
    ingredients: tuple[str, ...] = ()
    formulation: str = ""
    surface: str = ""
    exposure: str = ""
    is_rain_protected: bool = False


def in_force(rows: Iterable[FactorRow], on: date) -> list[FactorRow]:
    """The last row of each key that begins on or before a day."""
    held: dict[tuple[object, ...], FactorRow] = {}
    for row in sorted(rows, key=lambda one: (one.from_on, one.pk)):
        if row.from_on <= on:
            held[row.key] = row
    return list(held.values())


def chosen(rows: Iterable[FactorRow], treated: TreatedSurface) -> dict[str, FactorRow]:
    """The row of each kind that counts: the closest one, of equally close ones the smallest.

    `rows` are the whole table. House rule: what is named counts before what is general.
    """
    found: dict[str, FactorRow] = {}
    fitting = [row for row in in_force(rows, treated.on) if _fits(row, treated)]
    for row in sorted(fitting, key=lambda one: (one.closeness, -one.factor), reverse=True):
        found.setdefault(row.kind, row)
    return found


def _fits(row: FactorRow, treated: TreatedSurface) -> bool:
    if row.kind == FactorKind.RAIN and treated.is_rain_protected:
        return False
    named = {one.casefold() for one in treated.ingredients}
    return (
        (not row.ingredient or row.ingredient.casefold() in named)
        and row.formulation in ("", treated.formulation)
        and row.surface in ("", treated.surface)
        and row.exposure in ("", treated.exposure)
        and _in_months(treated.on.month, row.first_month, row.last_month)
    )


def _in_months(month: int, first: int, last: int) -> bool:
    return (month - first) % 12 <= (last - first) % 12


def factors_of(rows: Mapping[str, FactorRow]) -> Factors:
    """The factors as the window counts them; what has no row is 1."""
    return Factors(**{kind: row.factor for kind, row in rows.items()})


def factor_phrase(row: FactorRow, treated: TreatedSurface) -> str:
    """One factor in words: full sun × 0.8 (house rule)."""
    name = {
        FactorKind.SURFACE: _word(SURFACE_WORDS, Surface, treated.surface),
        FactorKind.EXPOSURE: _word(EXPOSURE_WORDS, Exposure, treated.exposure),
    }.get(FactorKind(row.kind), str(row.kind))
    return f"{name} × {plain_factor(row.factor)} ({row.basis})"


def _word(words: Mapping[StrEnum, str], kind: type[StrEnum], value: str) -> str:
    return words[kind(value)].lower() if value else str(kind.__name__).lower()


def plain_factor(factor: Decimal) -> str:
    """A factor without the zeros behind it: 0.8, 1."""
    return f"{factor.normalize():f}"


def kept_factors(treated: TreatedSurface, rows: Mapping[str, FactorRow]) -> dict[str, Any]:
    """What a window keeps of how it came to its days: factors, what they looked at, and why."""
    numbers = {str(kind): "1" for kind in FactorKind}
    numbers |= {str(kind): plain_factor(row.factor) for kind, row in rows.items()}
    looked_at = asdict(treated) | {"on": treated.on.isoformat()}
    looked_at["ingredients"] = list(treated.ingredients)
    why = [factor_phrase(row, treated) for row in _in_order(rows) if row.factor != 1]
    return {**numbers, "inputs": looked_at, "why": why}


def _in_order(rows: Mapping[str, FactorRow]) -> list[FactorRow]:
    return [rows[kind] for kind in FactorKind if kind in rows]


def factor_words(kept: Mapping[str, Any]) -> str:
    """Why a window is shorter than its claim, from what it keeps; empty where nothing is."""
    if kept.get("why"):
        return ", ".join(str(one) for one in kept["why"])
    names = [str(kind) for kind in FactorKind if str(kept.get(str(kind), "1")) != "1"]
    return ", ".join(names)


def set_by_office(reason: str) -> str:
    """Why the days are others than the factors give."""
    return f"set by the office ({reason})"


def days_sentence(claim: int, days: int, why: str = "") -> str:
    """The number of days explained: label up to 90 days; full sun × 0.5 (house rule): 45 days."""
    middle = f"; {why}" if why else ""
    return f"label up to {claim} days{middle}: {days} days"


def refuse_override(claim: int, days: int, reason: str) -> None:
    """Refused: more days than the label claims, fewer than none, no reason."""
    if not 0 <= days <= claim:
        raise Refused(
            "days",
            f"The label claims up to {claim} days and nothing holds longer. Write 0 to {claim}.",
            field="days",
        )
    if not reason.strip():
        raise Refused("reason", "Write why, for whoever reads the number later.", field="reason")


def refuse_factor(row: FactorRow) -> None:
    """Refused: a factor outside 0 to 1, rain or heat of a surface's kind, months that are none."""
    if not 0 <= row.factor <= 1:
        raise Refused(
            "factor",
            "A factor is from 0 to 1: a claim is never made longer than its label.",
            field="factor",
        )
    needs = {FactorKind.SURFACE: row.surface, FactorKind.EXPOSURE: row.exposure}
    if needs.get(FactorKind(row.kind)) == "":
        word = str(row.kind)
        raise Refused(word, f"Choose the {word} that this factor is for.", field=word)
    if not (1 <= row.first_month <= 12 and 1 <= row.last_month <= 12):
        raise Refused("months", "Months are from 1 to 12.", field="first_month")


def ingredients_known(rows: Collection[FactorRow], names: Iterable[str]) -> list[str]:
    """Every ingredient that a row may name, each once: of the products and of the table."""
    known = {name.casefold(): name for name in (*[row.ingredient for row in rows], *names) if name}
    return sorted(known.values(), key=str.casefold)
