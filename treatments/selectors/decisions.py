"""Decisions about what a label does not name: what counts for a use, what still waits."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
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


@dataclass(frozen=True)
class AskedAndDecided:
    """What was decided, by direction, and what was asked and waits."""

    decisions: dict[int, tuple[Decision, ...]]
    waiting: tuple[UnlistedUseDecision, ...] = ()


def decisions_in(setting: Setting, uses: Collection[LabelUse]) -> AskedAndDecided:
    """What was decided for the visit, or for the property on its day, and what waits; one query.

    After the fact only what was signed before the use was over.
    """
    at_visit = Q(visit_ref=setting.visit_ref) & ~Q(visit_ref="")
    decided = at_visit | Q(visit_ref="", decided_on=setting.on)
    decided &= Q(decided_at__isnull=False)
    if setting.over_at is not None:
        decided &= Q(decided_at__lte=setting.over_at)
    rows = UnlistedUseDecision.objects.filter(
        decided | Q(decided_at=None, visit_ref=setting.visit_ref),
        property_id=setting.place.pk,
        label_use__in=[use.pk for use in uses],
    )
    found: dict[int, tuple[Decision, ...]] = {use.pk: () for use in uses}
    waiting = []
    for row in rows.select_related("decided_by"):
        if row.decided_at is None:
            waiting.append(row)
        else:
            found[row.label_use_id] += (_decision(row, is_kept=setting.over_at is not None),)
    return AskedAndDecided(found, tuple(waiting))


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


def is_silent(setting: Setting, use: LabelUse) -> bool:
    """Whether a direction does not name the method of a use, or one of its pests."""
    return setting.method not in use.methods or bool(_unlisted(setting, use))


def is_waiting(setting: Setting, use: LabelUse, questions: Collection[UnlistedUseDecision]) -> bool:
    """Whether a use was asked about and is not decided yet, by what waits there."""
    about = (use.pk, setting.method, sorted(_unlisted(setting, use)))
    return any((one.label_use_id, one.method, one.pests) == about for one in questions)


def _unlisted(setting: Setting, use: LabelUse) -> frozenset[str]:
    pests = {one.common_name: PestGroup(one.group) for one in setting.pests}
    return unlisted_pests(label_facts(use), pests)


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
