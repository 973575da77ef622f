"""Decisions about what a label does not name: what counts for a use, what still waits."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING, Any

from django.db.models import F, Q, QuerySet
from django.shortcuts import get_object_or_404

from accounts.selectors.people import branches_for, license_in_force
from sites.rules.places import PestGroup
from treatments.models import LabelUse, UnlistedUseDecision
from treatments.rules.label_checks import Decision
from treatments.rules.label_checks.decisions import unlisted_pests
from treatments.rules.products import LicenseKind, Method
from treatments.selectors.label_facts import clause_of, label_facts
from treatments.selectors.whole import Setting

if TYPE_CHECKING:
    from datetime import date

    from accounts.models import ApplicatorLicense, Person

MOST_LISTED = 200


def decisions_in(setting: Setting, uses: Collection[LabelUse]) -> dict[int, tuple[Decision, ...]]:
    """What was decided for the visit, or for the property on its day, by direction; one query.

    After the fact only what was signed before the use was over.
    """
    over_at = setting.over_at
    rows = UnlistedUseDecision.objects.filter(
        property_id=setting.place.pk,
        label_use__in=[use.pk for use in uses],
        decided_at__isnull=False,
    )
    found: dict[int, tuple[Decision, ...]] = {use.pk: () for use in uses}
    for row in rows if over_at else rows.select_related("decided_by"):
        if _counts(row, setting):
            found[row.label_use_id] += (_decision(row, is_kept=over_at is not None),)
    return found


def _counts(row: UnlistedUseDecision, setting: Setting) -> bool:
    """Whether what was decided is about this visit, or about the day where no visit was named."""
    if row.decided_at is None or (setting.over_at and row.decided_at > setting.over_at):
        return False
    if not row.visit_ref:
        return row.decided_on == setting.on
    return row.visit_ref == setting.visit_ref


def _decision(row: UnlistedUseDecision, *, is_kept: bool) -> Decision:
    # what is kept goes into the log, where no name and no free text may stand (personal values)
    signed: Any = row  # a decided row has all of these: decision_is_signed_whole
    return Decision(
        method=Method(row.method),
        pests=frozenset(row.pests),
        is_allowed=signed.is_allowed,
        by="" if is_kept else signed.decided_by.full_name,
        license_number=row.license_number,
        on=signed.decided_on,
        at=signed.decided_at,
        reason="" if is_kept else row.reason,
    )


def certified_license(person_id: int, state: str, on: date) -> ApplicatorLicense | None:
    """The license by which somebody is a certified applicator in a state on a day."""
    license = license_in_force(person_id, state, on)
    return license if license and license.kind == LicenseKind.CERTIFIED else None


def waiting(
    property_id: int, visit_ref: str, label_use_id: int, method: str, pests: Collection[str]
) -> UnlistedUseDecision | None:
    """The same question, asked and not decided yet."""
    asked = UnlistedUseDecision.objects.filter(
        property_id=property_id,
        visit_ref=visit_ref,
        label_use_id=label_use_id,
        method=method,
        decided_at=None,
    )
    return next((one for one in asked if one.pests == sorted(pests)), None)


def waiting_in(setting: Setting, use: LabelUse) -> UnlistedUseDecision | None:
    """The question that was asked about a use and is not decided yet."""
    pests = {one.common_name: PestGroup(one.group) for one in setting.pests}
    unlisted = unlisted_pests(label_facts(use), pests)
    return waiting(setting.place.pk, setting.visit_ref, use.pk, setting.method, unlisted)


def questions_for(person: Person | None) -> QuerySet[UnlistedUseDecision]:
    """The questions of the person's branches, and their own, with what they are about."""
    rows = UnlistedUseDecision.objects.select_related(
        "property__customer",
        "property__branch",
        "label_use__label_version__product",
        "created_by",
        "decided_by",
    )
    if person is None:
        return rows
    return rows.filter(Q(property__branch__in=branches_for(person)) | Q(created_by=person))


def question_for(person: Person | None, pk: int) -> UnlistedUseDecision:
    """One question that the person may decide; otherwise Http404."""
    return get_object_or_404(questions_for(person), pk=pk)


def question_rows(person: Person) -> list[UnlistedUseDecision]:
    """What waits first, then what was decided, the newest first."""
    waiting_first = F("decided_at").desc(nulls_first=True)
    return list(questions_for(person).order_by(waiting_first, "-pk")[:MOST_LISTED])


def question_words(question: UnlistedUseDecision) -> str:
    """What is asked, in one line: method, pests, direction with its page, property."""
    use = question.label_use
    against = f" against {', '.join(question.pests)}" if question.pests else ""
    label = clause_of(use, use.page)
    return (
        f"{question.get_method_display()}{against}, at {question.property.street}. "
        f"Not named in \u201c{use.title}\u201d: {label}."
    )
