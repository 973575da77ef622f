"""Reading one photo."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, require
from sites.models import Photo, Property

if TYPE_CHECKING:
    from accounts.models import Person


def photo_for(person: Person, within: QuerySet[Property], pk: int) -> Photo:
    """One photo of a property within reach, or of one's own identification, else Http404.

    A sealed one is the manager's.
    """
    reached = Q(property__in=within.values("pk"))
    own = Q(created_by=person, finding=None, task_ending=None)
    photo = get_object_or_404(Photo.objects.filter(reached | own), pk=pk)
    if photo.is_sealed:
        require(person, Permission.SEE_SEALED_PHOTOS)
    return photo


def photos_named(property_id: int, keys: Sequence[int]) -> list[Photo]:
    """The photos with these keys at a property, without their bytes."""
    rows = Photo.objects.filter(property=property_id, pk__in=keys).defer("content")
    return list(rows.order_by("pk")) if keys else []


def pictures_of(finding_id: int) -> list[Photo]:
    """The photos of a finding that can be shown, with their bytes."""
    return list(Photo.objects.filter(finding=finding_id, is_sealed=False).order_by("pk"))
