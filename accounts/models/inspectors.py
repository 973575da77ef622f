"""Who inspects the firm, for one day: no account, one link, one branch."""

from __future__ import annotations

from datetime import datetime

from django.db import models
from django.db.models import Q

from accounts.stamps import Stamped


class InspectorVisit(Stamped):
    """An inspector at the desk of a branch until the end of that day.

    The link's random token is shown once and only its SHA-256 is kept; `opened_at` is when it was
    used up.
    """

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    inspector_name = models.CharField("Inspector", max_length=120)
    agency = models.CharField(max_length=120)
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    ends_at = models.DateTimeField()
    opened_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=~Q(inspector_name="") & ~Q(agency=""), name="inspector_is_named"
            ),
        )

    def __str__(self) -> str:
        return f"{self.inspector_name}, {self.agency}"

    def lasts(self, now: datetime) -> bool:
        """Whether the visit is neither over nor revoked."""
        return self.revoked_at is None and now < self.ends_at
