"""Reading totals: what counts, grouped in SQL in whole canonical units."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, QuerySet, Sum
from django.db.models.functions import TruncMonth, TruncQuarter, TruncYear

from treatments.models import (
    ApplicationRecord,
    LogEntry,
    LogFrontier,
    ProductIngredient,
)
from treatments.rules.totals import (
    NO_ZIP,
    Axis,
    Cell,
    ProductKey,
    Tally,
    county_word,
    period_key,
    period_word,
    places_word,
    zip5,
)
from treatments.rules.totals_ingredients import Strength, Strengths
from treatments.rules.totals_log import Ledger, Scope, ledger_of_leaves
from treatments.selectors.records import effective_records
from treatments.selectors.totals_by_place import PLACE_COLUMN, grouped_with_places

LEAVES_A_READING = 2000
# a leaf is written after the work; a log in UTC and a day in any time zone differ by less
BEFORE_THE_DAY = timedelta(days=2)
PERIOD_COLUMNS = {
    Axis.MONTH: TruncMonth("applied_on"),
    Axis.QUARTER: TruncQuarter("applied_on"),
    Axis.YEAR: TruncYear("applied_on"),
}
AXIS_COLUMNS: dict[Axis, tuple[str, ...]] = {
    Axis.MONTH: ("month",),
    Axis.QUARTER: ("quarter",),
    Axis.YEAR: ("year",),
    Axis.BRANCH: ("branch__name",),
    Axis.COUNTY: ("county", "state"),
    Axis.ZIP: ("zip_code",),
    Axis.PLACE: (PLACE_COLUMN,),
    Axis.APPLICATOR: ("applicator_id", "applicator__full_name"),
}
NAMED = ("branch_id", "product_name", "registration_number")
SUMS = {
    "records": Count("pk"),
    "by_volume": Count("product_ul"),
    "by_mass": Count("product_mg"),
    "ul": Sum("product_ul"),
    "mg": Sum("product_mg"),
}


@dataclass(frozen=True)
class Totals:
    """Every cell of a scope, and what orders its periods."""

    cells: tuple[Cell, ...]
    periods: dict[str, tuple[int, int]]


@dataclass(frozen=True)
class Amountless:
    """One record that names a product and no amount of it."""

    pk: int
    on: Any
    product: str
    url: str


def totals_of(scope: Scope, axes: Sequence[Axis]) -> Totals:
    """The records of a scope by branch, product and these axes, in one query.

    A record with several places stands under all of them together: an amount is never split.
    """
    columns = [name for axis in axes for name in AXIS_COLUMNS[axis]]
    found = _grouped(_with_periods(in_scope(scope), axes), (*NAMED, *columns))
    words = _Words(axes, found)
    return Totals(tuple(words.cell(row) for row in found), words.periods)


def _grouped(records: QuerySet[ApplicationRecord], columns: Sequence[str]) -> list[tuple[Any, ...]]:
    if PLACE_COLUMN in columns:
        return grouped_with_places(records, columns)
    return list(records.order_by().values_list(*columns).annotate(**SUMS))


class _Words:
    """Turns rows of columns into cells with one word for each axis."""

    def __init__(self, axes: Sequence[Axis], rows: Sequence[tuple[Any, ...]]) -> None:
        self.axes = axes
        self.periods: dict[str, tuple[int, int]] = {}
        self.namesakes = self._namesakes(rows)

    def _namesakes(self, rows: Sequence[tuple[Any, ...]]) -> Counter[str]:
        """How many people have each name: two of one name stay two."""
        if Axis.APPLICATOR not in self.axes:
            return Counter()
        before = self.axes[: self.axes.index(Axis.APPLICATOR)]
        place = 3 + sum(len(AXIS_COLUMNS[axis]) for axis in before)
        return Counter(name for _, name in {(row[place], row[place + 1]) for row in rows})

    def cell(self, row: tuple[Any, ...]) -> Cell:
        branch_id, product, number, *rest = row
        group = []
        for axis in self.axes:
            width = len(AXIS_COLUMNS[axis])
            group.append(self._word(axis, rest[:width]))
            rest = rest[width:]
        records, by_volume, by_mass, ul, mg = rest
        tally = Tally(records, by_volume, by_mass, int(ul or 0), int(mg or 0))
        return Cell(tuple(group), ProductKey(product, number), tally, branch_id)

    def _word(self, axis: Axis, values: Sequence[Any]) -> str:
        first, last = values[0], values[-1]
        if axis in PERIOD_COLUMNS:
            return self._period(axis, first)
        if axis is Axis.COUNTY:
            return county_word(first, last)
        if axis is Axis.ZIP:
            return zip5(first) or NO_ZIP
        if axis is Axis.PLACE:
            return places_word(first)
        if axis is Axis.APPLICATOR and self.namesakes[last] > 1:
            return f"{last} ({first})"
        return str(last)

    def _period(self, axis: Axis, first: date | str) -> str:
        """The word of a period; SQLite gives its first day as text where the ORM does not read."""
        day = date.fromisoformat(first) if isinstance(first, str) else first
        word = period_word(axis, day)
        self.periods[word] = period_key(axis, day)
        return word


def in_scope(scope: Scope) -> QuerySet[ApplicationRecord]:
    """The effective records a report is about."""
    rows = effective_records().filter(
        branch_id__in=scope.branches, applied_on__range=(scope.since, scope.until)
    )
    wanted = {
        "state": scope.state,
        "county": scope.county,
        "product_name": scope.product,
        "applicator_id": scope.applicator_id,
    }
    rows = rows.filter(**{name: value for name, value in wanted.items() if value})
    if scope.zip_code:
        rows = rows.filter(zip_code__regex=rf"^\s*{scope.zip_code}(-?[0-9]{{4}})?\s*$")
    return rows


def _with_periods(
    rows: QuerySet[ApplicationRecord], axes: Collection[Axis]
) -> QuerySet[ApplicationRecord]:
    periods = {axis.value: made for axis, made in PERIOD_COLUMNS.items() if axis in axes}
    return rows.annotate(**periods)


def strengths_of(products: Collection[ProductKey]) -> Strengths:
    """The active ingredients of products that stand in records; a used product never changes."""
    found: dict[ProductKey, list[Strength]] = {}
    rows = ProductIngredient.objects.filter(product__name__in={one.name for one in products})
    for row in rows.select_related("product", "ingredient").order_by("ingredient__common_name"):
        key = ProductKey(row.product.name, row.product.registration_number)
        strength = Strength(
            row.ingredient.common_name, row.percent_by_weight, row.pounds_per_gallon
        )
        found.setdefault(key, []).append(strength)
    return found


def without_amount(scope: Scope, limit: int) -> list[Amountless]:
    """The first records of a scope that name a product and say no amount of it."""
    rows = in_scope(scope).filter(product_ul=None, product_mg=None).exclude(product_name="")
    return [
        Amountless(row.pk, row.applied_on, row.product_name, row.get_absolute_url())
        for row in rows.order_by("applied_on", "pk")[:limit]
    ]


def leaves_to_read(scope: Scope) -> int:
    """How many leaves the logs of these branches have at most."""
    sizes = LogFrontier.objects.filter(branch_id__in=scope.branches).aggregate(all=Sum("size"))
    return sizes["all"] or 0


def ledger_of_log(scope: Scope) -> Ledger:
    """The same scope from the leaves of the log alone, without a look at any record's row."""
    return ledger_of_leaves(_leaves(scope), scope)


def _leaves(scope: Scope) -> Iterator[bytes]:
    since = datetime.combine(scope.since, time(), UTC) - BEFORE_THE_DAY
    rows = LogEntry.objects.filter(branch_id__in=scope.branches, at__gte=since).order_by()
    for leaf in rows.values_list("leaf", flat=True).iterator(chunk_size=LEAVES_A_READING):
        yield bytes(leaf)
