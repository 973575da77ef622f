"""What was put down at one property, for its logbook: records, labels, who applied."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.http import Http404

from treatments.models import ApplicationRecord, LabelFile
from treatments.rules.desk import DeskFile, DeskList
from treatments.selectors.desk_lists import people_list
from treatments.selectors.desk_stock import label_list
from treatments.selectors.records import effective_records, with_names


def records_since(property_id: int, since: date) -> list[ApplicationRecord]:
    """The effective records of a property from a day on, the last work first."""
    rows = effective_records().filter(property_id=property_id, applied_on__gte=since)
    rows = with_names(rows).prefetch_related("personal_values")
    return list(rows.order_by("-applied_on", "-pk"))


def labels_of(records: Sequence[ApplicationRecord]) -> tuple[DeskList, list[DeskFile]]:
    """The labels and safety data sheets of these records, each paper kept or named missing."""
    return label_list([[record] for record in records], ())


def people_of(records: Sequence[ApplicationRecord]) -> DeskList:
    """Who applied these records, and the licenses they held."""
    return people_list([[record] for record in records])


def label_paper_at(property_id: int, since: date, label_id: int, kind: str) -> LabelFile:
    """A paper of a label that a record of the property names; otherwise Http404."""
    used = effective_records().filter(property_id=property_id, applied_on__gte=since)
    kept = LabelFile.objects.filter(label_version=label_id, kind=kind).first()
    if kept is None or not used.filter(label_version=label_id).exists():
        raise Http404
    return kept
