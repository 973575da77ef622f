"""Which directions for use name a limit for bees."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import F, Q, QuerySet

from treatments.models import LabelLimit, LabelUse, TreatedArea
from treatments.rules.products import LimitFact
from treatments.selectors.records import effective_records

OF_BEES = (LimitFact.BEES_FORAGING, LimitFact.HIVE_DISTANCE)


def uses_with_bees(use_ids: Collection[int]) -> QuerySet[LabelUse]:
    """Those of the directions whose label names a limit for bees, for all or for this one."""
    rows = LabelLimit.objects.filter(fact__in=OF_BEES)
    rows = rows.filter(Q(label_use=None) | Q(label_use__in=use_ids))
    named = LabelUse.objects.filter(pk__in=use_ids)
    whole = named.filter(label_version__in=rows.filter(label_use=None).values("label_version"))
    own = named.filter(pk__in=rows.exclude(label_use=None).values("label_use"))
    return (whole | own).select_related("label_version__product").order_by("pk")


def expects_bees(zone_ids: Collection[int]) -> bool:
    """Whether the last direction of one of the zones names a limit for bees; yes if never treated.

    The same product as last time is expected; what is really mixed is asked again then.
    """
    areas = TreatedArea.objects.filter(zone__in=zone_ids, record__in=effective_records())
    rows = areas.order_by("record__finished_at", "record").annotate(use=F("record__label_use"))
    last = dict(rows.values_list("zone_id", "use"))
    if set(zone_ids) - set(last):
        return True
    return uses_with_bees({use for use in last.values() if use}).exists()
