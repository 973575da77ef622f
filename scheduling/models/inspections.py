"""What was inspected and closed up at a visit."""

from __future__ import annotations

from django.db import models

from scheduling.models.visits import Visit


class VisitInspection(models.Model):
    """An inspection made at a visit; derived from its `visit_ref`."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="inspections")
    inspection = models.OneToOneField(
        "sites.Inspection", on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"Inspection {self.inspection_id} of visit {self.visit_id}"


class VisitTask(models.Model):
    """An exclusion task that was ended at a visit."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="tasks")
    task = models.OneToOneField("sites.ExclusionTask", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"Task {self.task_id} at visit {self.visit_id}"
