"""The best place for a waiting renewal, as a background job found it last."""

from __future__ import annotations

from django.db import models

from scheduling.models.renewals import Renewal


class SlotOffer(models.Model):
    """What the Renewals page shows: derived, made anew by the job, never a promise."""

    renewal = models.OneToOneField(Renewal, on_delete=models.CASCADE, related_name="offer")
    technician = models.ForeignKey("accounts.Person", on_delete=models.CASCADE, related_name="+")
    day = models.DateField()
    window_opens = models.TimeField()
    window_closes = models.TimeField()
    minutes = models.PositiveSmallIntegerField()
    added_minutes = models.PositiveIntegerField()
    reasons = models.CharField(max_length=300)
    made_at = models.DateTimeField()

    class Meta:
        indexes = (models.Index(fields=["technician", "day"], name="offer_technician_day"),)

    def __str__(self) -> str:
        return f"Offer for renewal {self.renewal_id} on {self.day}"
