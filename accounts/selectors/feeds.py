"""Reading calendar feeds: by their token, and of a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from accounts.models import FeedLink
from accounts.permissions import Permission, allows
from accounts.selectors.inspectors import digest_of

if TYPE_CHECKING:
    from accounts.models import Person


def feed_of(token: str) -> FeedLink | None:
    """The feed of a token while it is not taken back and its person still works visits."""
    rows = FeedLink.objects.select_related("person__branch")
    found = rows.filter(token_sha256=digest_of(token), revoked_at=None).first()
    works = found is not None and allows(found.person, Permission.WORK_STOPS)
    return found if works else None


def own_feed(person: Person) -> FeedLink | None:
    """The feed of a person that is in force."""
    return FeedLink.objects.filter(person=person, revoked_at=None).first()
