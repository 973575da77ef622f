"""Giving oneself a calendar feed, and taking it back."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.models import FeedLink, Person
from accounts.permissions import Permission, require
from accounts.selectors.inspectors import digest_of
from accounts.services.audit import note_event
from accounts.services.inspectors import TOKEN_BYTES

if TYPE_CHECKING:
    from django.db.models import QuerySet


@transaction.atomic
def make_feed(*, by: Person, now: datetime) -> str:
    """Another feed of one's own visits; its token is given once, the one before ends."""
    require(by, Permission.WORK_STOPS)
    Person.objects.select_for_update().get(pk=by.pk)
    _in_force(by).update(revoked_at=now)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    made = FeedLink.objects.create(
        person=by, token_sha256=digest_of(token), created_at=now, created_by=by
    )
    note_event(by=by, act="feed_made", thing=made, now=now)
    return token


@transaction.atomic
def take_feed_back(*, by: Person, now: datetime) -> None:
    """End one's own feed; again is no change."""
    require(by, Permission.WORK_STOPS)
    if _in_force(by).update(revoked_at=now):
        note_event(by=by, act="feed_taken_back", thing=by, now=now)


def note_read(*, feed: FeedLink, now: datetime) -> None:
    """Note when a feed was read last."""
    FeedLink.objects.filter(pk=feed.pk).update(last_read_at=now)


def _in_force(person: Person) -> QuerySet[FeedLink]:
    return FeedLink.objects.filter(person=person, revoked_at=None)
