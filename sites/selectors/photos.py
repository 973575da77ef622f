"""Reading one photo."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, require
from sites.models import Photo, Property

if TYPE_CHECKING:
    from accounts.models import Person


def photo_for(person: Person, within: QuerySet[Property], pk: int) -> Photo:
    """One photo of a property within reach, else Http404; a sealed one is the manager's."""
    photo = get_object_or_404(Photo.objects.filter(property__in=within.values("pk")), pk=pk)
    if photo.is_sealed:
        require(person, Permission.SEE_SEALED_PHOTOS)
    return photo


def pictures_of(finding_id: int) -> list[Photo]:
    """The photos of a finding that can be shown, with their bytes."""
    return list(Photo.objects.filter(finding=finding_id, is_sealed=False).order_by("pk"))
