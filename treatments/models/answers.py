"""What was answered to the safety questions of a record: rows that never change."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard
from treatments.models.records import ApplicationRecord


class SafetyAnswer(models.Model):
    """One safety question of a record as it was asked, with its answer and where it comes from.

    `answer` is yes, no or not_applicable; empty where times or a name were written, which are a
    personal value of the record under the same code.
    """

    record = models.ForeignKey(ApplicationRecord, on_delete=models.PROTECT, related_name="answers")
    code = models.CharField(max_length=40)
    words = models.CharField(max_length=200)
    answer = models.CharField(max_length=16, blank=True)
    clause = models.CharField(max_length=200)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["record", "code"], name="safety_answer_once"),
        )

    def __str__(self) -> str:
        return f"{self.words} {self.answer}"


GUARDS = (Guard("treatments_safetyanswer", keys=(("record_id", "code"),)),)
