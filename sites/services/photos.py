"""Keeping photos: read before anything is locked, stored with what they show."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Protocol

from accounts.refusals import Refused
from sites.models import Finding, Photo, Property, TaskEnding
from sites.rules.photo_files import MOST_BYTES, PhotoFile, read_photo

if TYPE_CHECKING:
    from accounts.models import Person

MOST_PHOTOS = 6
NAME_LENGTH = 120


class Uploaded(Protocol):
    """A file as it arrives: `size` in bytes is known before it is read."""

    name: str | None
    size: int | None

    def read(self) -> bytes: ...


ReadPhotos = Sequence[tuple[str, PhotoFile]]


def read_photos(files: Sequence[Uploaded]) -> ReadPhotos:
    """Read every file of one form.

    Refused: more than six, and what `read_photo` refuses; a file above the limit is never read.
    """
    if len(files) > MOST_PHOTOS:
        sentence = f"Send {MOST_PHOTOS} photos at most at once."
        raise Refused("photos", sentence, field="photos")
    return [(_name(one), _read(one)) for one in files]


def _name(upload: Uploaded) -> str:
    return PurePath(upload.name or "photo").name[-NAME_LENGTH:]


def _read(upload: Uploaded) -> PhotoFile:
    content = b"" if (upload.size or 0) > MOST_BYTES else upload.read()
    return read_photo(content, _name(upload), upload.size)


def keep_photos(
    photos: ReadPhotos,
    *,
    place: Property,
    by: Person,
    finding: Finding | None = None,
    task_ending: TaskEnding | None = None,
) -> None:
    """Store photos with what they show, inside the caller's transaction."""
    for name, one in photos:
        Photo.objects.create(
            property=place,
            finding=finding,
            task_ending=task_ending,
            name=name,
            content=one.content,
            content_type=one.content_type,
            is_sealed=one.is_sealed,
            width=one.width,
            height=one.height,
            size=len(one.content),
            sha256=one.sha256,
            original_sha256=one.original_sha256,
            taken=one.taken,
            created_by=by,
        )
