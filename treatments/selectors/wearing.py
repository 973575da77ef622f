"""What the label of a direction wants worn for a job there."""

from __future__ import annotations

from sites.rules.places import Place
from treatments.models import LabelUse
from treatments.rules.products import Formulation, Method, Task
from treatments.rules.protective_equipment import ProtectionRow, Worn, tasks_of, worn
from treatments.selectors.whole import Setting


def protection_rows(use: LabelUse) -> tuple[ProtectionRow, ...]:
    """The rows of the direction's label; none where only its text was entered."""
    rows = use.label_version.protections.all()
    return tuple(ProtectionRow(Task(row.task), row.item, row.page) for row in rows)


def tasks_in(setting: Setting, use: LabelUse, *, is_mixed: bool) -> tuple[Task, ...]:
    """The tasks of treating the zones of a setting by its method."""
    return tasks_of(
        is_mixed=is_mixed,
        places={Place(part.zone.place) for part in setting.parts},
        method=Method(setting.method),
        formulation=Formulation(use.label_version.product.formulation),
    )


def wear(setting: Setting, use: LabelUse, *, is_mixed: bool) -> tuple[Worn, ...]:
    """Every item to wear for the job, with task and page; empty where the label has no rows."""
    return worn(protection_rows(use), tasks_in(setting, use, is_mixed=is_mixed))
