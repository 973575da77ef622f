"""What happened and what is still open."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard
from accounts.stamps import Stamped


class AuditEvent(models.Model):
    """Who did what to which thing, when; by text, so that it outlives every row it names."""

    at = models.DateTimeField()
    person_id = models.CharField(max_length=40, blank=True)
    person_name = models.CharField(max_length=120)
    act = models.CharField(max_length=60)
    thing = models.CharField(max_length=80)
    details = models.JSONField(default=dict)

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (models.Index(fields=["thing"], name="event_thing"),)

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.person_name} {self.act} {self.thing}"


class OpenItem(Stamped):
    """A matter that somebody must look at, closed with a note and never deleted."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=40)
    thing = models.CharField(max_length=80)
    sentence = models.TextField()
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_note = models.TextField(blank=True)

    class Meta:
        ordering = ("closed_at", "created_at")
        constraints = (
            models.UniqueConstraint(
                fields=["code", "thing"],
                condition=models.Q(closed_at__isnull=True),
                name="item_open_once",
            ),
        )

    def __str__(self) -> str:
        return self.sentence


GUARDS = (Guard(table="accounts_auditevent"),)
