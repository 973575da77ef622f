"""What the label of a direction wants worn for a job there, and who may wear it."""

from __future__ import annotations

from accounts.permissions import Permission, allows
from accounts.selectors.people import others_fitted
from sites.rules.places import Place
from treatments.models import LabelUse
from treatments.rules.products import Formulation, Method, Task
from treatments.rules.protective_equipment import (
    ProtectionRow,
    Worn,
    tasks_of,
    worn,
)
from treatments.selectors.whole import Setting


def protection_rows(use: LabelUse) -> tuple[ProtectionRow, ...]:
    """The rows of the direction's label; none where only its text was entered."""
    rows = use.label_version.protections.all()
    return tuple(
        ProtectionRow(Task(row.task), row.item, row.page, tuple(row.respirators)) for row in rows
    )


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


def who_else(setting: Setting, use: LabelUse, *, is_mixed: bool) -> str:
    """Who of the branch has the papers that the applicator lacks, in a sentence.

    Only who may see people reads names; a technician reads how many, and asks the office.
    """
    items = wear(setting, use, is_mixed=is_mixed)
    kinds = [one.kinds for one in items if one.respirators]
    person = setting.applicator
    others = others_fitted(person, setting.place.branch_id, kinds, setting.on)
    if not others:
        return "Nobody else of the branch has papers for this respirator either."
    if allows(person, Permission.SEE_PEOPLE):
        return f"Papers for this respirator: {', '.join(one.full_name for one in others)}."
    count = f"{len(others)} colleague{'s' if len(others) > 1 else ''} of the branch"
    verb = "have" if len(others) > 1 else "has"
    return f"{count} {verb} papers for this respirator: ask the office to send one."
