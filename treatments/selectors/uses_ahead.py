"""How often the product of each window was used in its zone: for counting ahead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from treatments.models import ResidualWindow, TreatedArea
from treatments.rules.uses_ahead import YearUses
from treatments.selectors.every_record import WITHOUT_EFFECT
from treatments.selectors.windows import in_portions

OF_WINDOW = "treated_area__record__label_use__"
Occasion = tuple[str, date]


def year_uses(window_ids: Collection[int], since: date) -> dict[int, YearUses]:
    """The uses since a day of the product each window is of, in the window's zone.

    Only windows of records whose direction limits the uses a year; two queries for 500 windows.
    Records of one visit on one day are one use, as the label check counts them.
    """
    found: dict[int, YearUses] = {}
    for some in in_portions(sorted(set(window_ids))):
        found |= _of_portion(some, since)
    return found


def _of_portion(window_ids: Collection[int], since: date) -> dict[int, YearUses]:
    rows = ResidualWindow.objects.filter(pk__in=window_ids)
    rows = rows.exclude(**{f"{OF_WINDOW}uses_per_year": None}).prefetch_related("overrides")
    limited = rows.select_related(f"{OF_WINDOW}label_version__product")
    windows = {one.pk: one for one in limited if one.treated_area is not None}
    made = _made({one.zone_id for one in windows.values()}, since)
    return {pk: _year_uses(one, made) for pk, one in windows.items()}


def _year_uses(window: ResidualWindow, made: dict[tuple[int, int], set[Occasion]]) -> YearUses:
    use = window.treated_area.record.label_use  # type: ignore[union-attr]
    product = use.label_version.product  # type: ignore[union-attr]
    days = sorted(on for _, on in made.get((window.zone_id, product.pk), ()))
    most = use.uses_per_year or 0  # type: ignore[union-attr]
    return YearUses(product.name, most, tuple(days), window.held_days)


def _made(zone_ids: Collection[int], since: date) -> dict[tuple[int, int], set[Occasion]]:
    rows = TreatedArea.objects.filter(
        zone__in=zone_ids, record__label_version__isnull=False, record__applied_on__gte=since
    ).exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
    columns = ("zone_id", "record__label_version__product_id", "record_id")
    found: dict[tuple[int, int], set[Occasion]] = defaultdict(set)
    for zone_id, product_id, record_id, visit_ref, on in rows.values_list(
        *columns, "record__visit_ref", "record__applied_on"
    ):
        found[zone_id, product_id].add((visit_ref or f"record {record_id}", on))
    return found
