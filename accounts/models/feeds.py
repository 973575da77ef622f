"""A private address under which a calendar program reads one technician's visits."""

from __future__ import annotations

from django.db import models

from accounts.models.people import Person
from accounts.stamps import Stamped


class FeedLink(Stamped):
    """One feed of one person until it is taken back; only the SHA-256 of its token is kept."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    revoked_at = models.DateTimeField(null=True)
    last_read_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=["person"],
                condition=models.Q(revoked_at__isnull=True),
                name="feed_one_a_person",
            ),
        )

    def __str__(self) -> str:
        return f"Calendar feed {self.pk}"
