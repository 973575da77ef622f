"""Which entries of which records a notice to the customer carried."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard


class RecordCopy(models.Model):
    """A notice carried a copy of this entry, as it stood then."""

    record = models.ForeignKey(
        "treatments.ApplicationRecord", on_delete=models.PROTECT, related_name="copies"
    )
    notice = models.ForeignKey("accounts.Notice", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["record", "notice"], name="copy_once_a_notice"),
        )

    def __str__(self) -> str:
        return f"Record {self.record_id} in notice {self.notice_id}"


GUARDS = (Guard("treatments_recordcopy", keys=(("record_id", "notice_id"),)),)
