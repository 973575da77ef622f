"""Closed periods of a branch's log: rows that never change, the last one says what holds."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from accounts.append_only import Guard
from accounts.stamps import Stamped


class PeriodClose(Stamped):
    """From now on a branch's log is closed through a day; empty: nothing is closed.

    Closing goes forward, reopening back and with a reason.
    """

    class Kind(models.TextChoices):
        CLOSE = "close", "Closed"
        REOPEN = "reopen", "Reopened"

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=6, choices=Kind)
    through = models.DateField(null=True)
    reason = models.TextField(blank=True)

    class Meta:
        ordering = ("branch", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(kind="close", through__isnull=False)
                | (Q(kind="reopen") & ~Q(reason="")),
                name="period_says_what_it_does",
            ),
        )
        indexes = (models.Index(fields=["branch", "-id"], name="period_newest"),)

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: through {self.through or 'no day'}"


GUARDS = (Guard("treatments_periodclose"),)
