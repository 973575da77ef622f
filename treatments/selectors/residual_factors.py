"""Reading the table of factors that shorten label claims."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sites.rules.places import EXPOSURE_WORDS, SURFACE_WORDS, Exposure, Surface
from treatments.models import ActiveIngredient, ResidualFactor
from treatments.rules.products import FORMULATION_WORDS, Formulation
from treatments.rules.residual_factors import (
    ALWAYS,
    FACTOR_WORDS,
    PUBLISHED,
    FactorKind,
    FactorRow,
    TreatedSurface,
    in_force,
    ingredients_known,
    plain_factor,
)

if TYPE_CHECKING:
    from sites.models import TreatableZone
    from treatments.selectors.whole import Whole

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class FactorLine:
    """One row of the table in words; `key` fills the form that takes its place."""

    kind: str
    fits: str
    factor: str
    since: date | None
    until: date | None
    basis: str
    is_published: bool
    is_in_force: bool
    by: str
    key: str


def factor_table() -> tuple[FactorRow, ...]:
    """Every row there ever was, what was published first; one query."""
    return (*PUBLISHED, *(one.row for one in ResidualFactor.objects.order_by("pk")))


def surface_treated(whole: Whole, zone: TreatableZone) -> TreatedSurface:
    """What the factors look at for one zone of an application; the ingredients are fetched."""
    product = whole.product
    found = product.ingredients.all() if product else ()
    return TreatedSurface(
        on=whole.on,
        ingredients=tuple(one.ingredient.common_name for one in found),
        formulation=product.formulation if product else "",
        surface=zone.surface,
        exposure=zone.exposure,
        is_rain_protected=zone.is_rain_protected,
    )


def factor_lines(today: date) -> list[FactorLine]:
    """The table as a page shows it: what counts today first, then by kind and day."""
    entered = ResidualFactor.objects.select_related("created_by").order_by("pk")
    by = {one.pk: one.created_by.full_name if one.created_by else "" for one in entered}
    rows = (*PUBLISHED, *(one.row for one in entered))
    held = in_force(rows, today)
    ordered = sorted(rows, key=lambda one: (one not in held, one.kind, one.from_on, one.pk))
    return [_line(one, rows, one in held, by.get(one.pk, "")) for one in ordered]


def _line(row: FactorRow, rows: tuple[FactorRow, ...], is_held: bool, by: str) -> FactorLine:
    later = [one.from_on for one in rows if one.key == row.key and _follows(one, row)]
    return FactorLine(
        kind=FACTOR_WORDS[FactorKind(row.kind)],
        fits=fits_words(row),
        factor=plain_factor(row.factor),
        since=None if row.from_on == ALWAYS else row.from_on,
        until=min(later, default=None),
        basis=row.basis,
        is_published=bool(row.source),
        is_in_force=is_held,
        by=by,
        key=str(row.pk),
    )


def _follows(one: FactorRow, row: FactorRow) -> bool:
    return (one.from_on, one.pk) > (row.from_on, row.pk)


def fits_words(row: FactorRow) -> str:
    """What a row fits, in words: everything, or its parts with commas."""
    parts = [row.ingredient]
    if row.formulation:
        parts.append(FORMULATION_WORDS[Formulation(row.formulation)])
    if row.surface:
        parts.append(SURFACE_WORDS[Surface(row.surface)])
    if row.exposure:
        parts.append(EXPOSURE_WORDS[Exposure(row.exposure)])
    if (row.first_month, row.last_month) != (1, 12):
        parts.append(f"{MONTHS[row.first_month - 1]} to {MONTHS[row.last_month - 1]}")
    return ", ".join(part for part in parts if part) or "everything"


def ingredient_choices() -> list[tuple[str, str]]:
    """Every ingredient a factor may name, any of them first."""
    names = ActiveIngredient.objects.values_list("common_name", flat=True)
    return [("", "Any ingredient")] + [(n, n) for n in ingredients_known(factor_table(), names)]


def first_values(key: str, today: date) -> dict[str, object]:
    """What the form opens with: the row of a key of `factor_lines`, or only the day."""
    row = next((one for one in factor_table() if str(one.pk) == key), None)
    return ({} if row is None else vars(row)) | {"from_on": today}
