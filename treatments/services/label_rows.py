"""The rows of a label one by one: directions for use, limits, protective equipment."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from sites.services.pests import register_pest
from treatments.models import (
    LabelLimit,
    LabelProtection,
    LabelUse,
    LabelVersion,
)
from treatments.rules.label_entry import NewDirection, NewLimit, NewPest, NewProtection
from treatments.rules.label_refusals import (
    refuse_direction,
    refuse_limit,
    refuse_limit_kind,
    refuse_protection,
    refuse_unit,
)
from treatments.rules.products import LimitFact
from treatments.selectors.label_copies import directions_as_entered
from treatments.selectors.labels import LOCKED, why_locked
from treatments.selectors.whole import pests_by_ids

if TYPE_CHECKING:
    from accounts.models import Person

NO_PEST = NewPest()


def editable_version(label_version_id: int, today: date) -> LabelVersion:
    """The label to change, locked with its product.

    Refused once it was verified, used or superseded.
    """
    version = locked_version(label_version_id)
    why = why_locked(version, today)
    if why:
        raise Refused(why, LOCKED[why])
    return version


def locked_version(label_version_id: int) -> LabelVersion:
    """The label with its product, locked; refused when it is not there."""
    rows = LabelVersion.objects.select_for_update().select_related("product")
    version = rows.filter(pk=label_version_id).first()
    if version is None:
        raise Refused("label", "There is no such label.")
    return version


def create_rows(
    version: LabelVersion,
    directions: tuple[NewDirection, ...],
    limits: tuple[NewLimit, ...],
    protections: tuple[NewProtection, ...],
    by: Person | None,
) -> None:
    """Store rows that were already checked."""
    for direction in directions:
        _create_direction(version, direction, by)
    uses = {use.title: use.pk for use in version.uses.all()}
    LabelLimit.objects.bulk_create(
        LabelLimit(label_version=version, created_by=by, **_limit_columns(new, uses))
        for new in limits
    )
    LabelProtection.objects.bulk_create(
        LabelProtection(label_version=version, created_by=by, **asdict(new)) for new in protections
    )


@transaction.atomic
def add_direction(
    *,
    label_version_id: int,
    direction: NewDirection,
    by: Person | None,
    today: date,
    new_pest: NewPest = NO_PEST,
) -> LabelUse:
    """Add one direction for use to a label that is neither verified nor used, with a pest it names.

    The pest is registered and named by the direction, or neither is stored.
    """
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    direction = _with_pest(direction, new_pest, by)
    _refuse_direction(version, direction)
    use = _create_direction(version, direction, by)
    note_event(by=by, act="add_direction", thing=use)
    return use


@transaction.atomic
def edit_direction(
    *,
    label_use_id: int,
    direction: NewDirection,
    by: Person | None,
    today: date,
    new_pest: NewPest = NO_PEST,
) -> LabelUse:
    """Write a direction for use anew, before its label is verified or used."""
    require(by, Permission.EDIT_LABELS)
    use: LabelUse = _row(LabelUse, label_use_id)
    direction = _with_pest(direction, new_pest, by)
    _refuse_direction(editable_version(use.label_version_id, today), direction, but=use.pk)
    for name, value in _direction_columns(direction).items():
        setattr(use, name, value)
    use.created_by = by
    use.save()
    use.pests.set(pests_by_ids(direction.pest_ids))
    note_event(by=by, act="edit_direction", thing=use)
    return use


@transaction.atomic
def remove_direction(*, label_use_id: int, by: Person | None, today: date) -> None:
    """Take a direction away; refused with limits of its own, or when it is a label's last one."""
    require(by, Permission.EDIT_LABELS)
    use = _row(LabelUse, label_use_id)
    version = editable_version(use.label_version_id, today)
    if use.limits.exists():
        raise Refused("direction", "This direction has limits of its own. Remove them first.")
    if not version.is_draft and version.uses.count() == 1:
        raise Refused("direction", "A label needs at least one direction. Add another one first.")
    note_event(by=by, act="remove_direction", thing=use, title=use.title)
    use.delete()


@transaction.atomic
def add_limit(
    *, label_version_id: int, limit: NewLimit, by: Person | None, today: date
) -> LabelLimit:
    """Add one limit to a label that is neither verified nor used."""
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    columns = _checked_limit(version, limit)
    row = LabelLimit.objects.create(label_version=version, created_by=by, **columns)
    note_event(by=by, act="add_limit", thing=row)
    return row


@transaction.atomic
def edit_limit(
    *, label_limit_id: int, limit: NewLimit, by: Person | None, today: date
) -> LabelLimit:
    """Write a limit anew, before its label is verified or used."""
    require(by, Permission.EDIT_LABELS)
    row: LabelLimit = _row(LabelLimit, label_limit_id)
    version = editable_version(row.label_version_id, today)
    for name, value in _checked_limit(version, limit, but=row.pk).items():
        setattr(row, name, value)
    row.created_by = by
    row.save()
    note_event(by=by, act="edit_limit", thing=row)
    return row


@transaction.atomic
def remove_limit(*, label_limit_id: int, by: Person | None, today: date) -> None:
    """Take a limit away, before its label is verified or used."""
    require(by, Permission.EDIT_LABELS)
    row = _row(LabelLimit, label_limit_id)
    editable_version(row.label_version_id, today)
    note_event(by=by, act="remove_limit", thing=row, sentence=row.sentence)
    row.delete()


@transaction.atomic
def add_protection(
    *, label_version_id: int, protection: NewProtection, by: Person | None, today: date
) -> LabelProtection:
    """Add one piece of protective equipment for a task."""
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    refuse_protection(protection)
    row = LabelProtection.objects.create(label_version=version, created_by=by, **asdict(protection))
    note_event(by=by, act="add_protection", thing=row)
    return row


@transaction.atomic
def edit_protection(
    *, label_protection_id: int, protection: NewProtection, by: Person | None, today: date
) -> LabelProtection:
    """Write a piece of protective equipment anew, before its label is verified or used."""
    require(by, Permission.EDIT_LABELS)
    row: LabelProtection = _row(LabelProtection, label_protection_id)
    editable_version(row.label_version_id, today)
    refuse_protection(protection)
    for name, value in asdict(protection).items():
        setattr(row, name, value)
    row.created_by = by
    row.save()
    note_event(by=by, act="edit_protection", thing=row)
    return row


@transaction.atomic
def remove_protection(*, label_protection_id: int, by: Person | None, today: date) -> None:
    """Take a piece of protective equipment away, before its label is verified or used."""
    require(by, Permission.EDIT_LABELS)
    row = _row(LabelProtection, label_protection_id)
    editable_version(row.label_version_id, today)
    note_event(by=by, act="remove_protection", thing=row, item=row.item)
    row.delete()


def _row(model: Any, pk: int) -> Any:
    row = model.objects.filter(pk=pk).first()
    if row is None:
        raise Refused("label", "This row of the label is not there any more. Open the label again.")
    return row


def _refuse_direction(version: LabelVersion, direction: NewDirection, but: int = 0) -> None:
    refuse_direction(direction)
    refuse_unit(direction.rate_unit, version.product.formulation, "rate_unit")
    if version.uses.filter(title=direction.title.strip()).exclude(pk=but).exists():
        sentence = "Another direction of this label has that title. Give it its own."
        raise Refused("label", sentence, field="title")


def _with_pest(direction: NewDirection, new: NewPest, by: Person | None) -> NewDirection:
    if not new.common_name.strip():
        return direction
    try:
        pest = register_pest(common_name=new.common_name, group=new.group, by=by)
    except Refused as refused:
        field = "new_pest_group" if refused.facts.get("field") == "group" else "new_pest"
        raise Refused(refused.code, refused.sentence, field=field) from refused
    return replace(direction, pest_ids=(*direction.pest_ids, pest.pk))


def _create_direction(version: LabelVersion, new: NewDirection, by: Person | None) -> LabelUse:
    use = LabelUse.objects.create(label_version=version, created_by=by, **_direction_columns(new))
    use.pests.set(pests_by_ids(new.pest_ids))
    return use


def _direction_columns(new: NewDirection) -> dict[str, Any]:
    columns = asdict(new)
    del columns["pest_ids"]
    return columns | {
        "title": new.title.strip(),
        "places": list(new.places),
        "methods": list(new.methods),
    }


def _checked_limit(version: LabelVersion, limit: NewLimit, but: int = 0) -> dict[str, Any]:
    uses = {use.title: use.pk for use in version.uses.all()}
    refuse_limit(limit, set(uses))
    _refuse_second_turn(version, limit, but)
    if limit.unit:
        refuse_unit(limit.unit, version.product.formulation, "unit")
    refuse_limit_kind(limit, directions_as_entered(version))
    return _limit_columns(limit, uses)


def _refuse_second_turn(version: LabelVersion, limit: NewLimit, but: int) -> None:
    if limit.fact != LimitFact.FILL_TURN:
        return
    turns = version.limits.filter(fact=limit.fact).exclude(pk=but).select_related("label_use")
    if limit.direction in [row.label_use.title if row.label_use else "" for row in turns]:
        sentence = "Its turn in the order of filling is entered already. Change that one."
        raise Refused("label", sentence, field="direction")


def _limit_columns(new: NewLimit, uses: dict[str, int]) -> dict[str, Any]:
    columns = asdict(new)
    title = columns.pop("direction")
    return columns | {"label_use_id": uses[title] if title else None}
