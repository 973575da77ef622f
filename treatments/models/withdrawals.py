"""From which day on a label must not be used any more, also when it was used before."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard
from accounts.stamps import Stamped
from treatments.models.labels import LabelVersion


class LabelWithdrawal(Stamped):
    """A label was withdrawn firm-wide, or its withdrawal was lifted: the newest row counts.

    Without `not_to_be_used_after` the row lifts what stood before it. The label stays as it is,
    and what was recorded before is judged as it was.
    """

    label_version = models.ForeignKey(
        LabelVersion, on_delete=models.PROTECT, related_name="withdrawals"
    )
    not_to_be_used_after = models.DateField(null=True)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(condition=~models.Q(reason=""), name="withdrawal_has_a_reason"),
        )

    def __str__(self) -> str:
        word = "withdrawn" if self.not_to_be_used_after else "in use again"
        return f"{self.label_version}, {word}"


GUARDS = (Guard("treatments_labelwithdrawal"),)
