"""Work that keeps pests out: what is to be done about a finding, by whom, and how it ended."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.models.inspections import Finding
from sites.rules.exclusion import ENDING_WORDS
from sites.rules.places import choices
from sites.rules.sealing import (
    ADVICE,
    DOES_WORDS,
    INSIDE_WORDS,
    MATERIAL_WORDS,
    MEASURE_WORDS,
    Does,
    Material,
    Measure,
    asks_for_animals,
    stays_open_words,
)


class ExclusionTask(Stamped):
    """One measure about one finding; a change is a withdrawal and a new task."""

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="tasks")
    measure = models.CharField(max_length=16, choices=choices(MEASURE_WORDS))
    material = models.CharField(
        max_length=20, choices=choices(MATERIAL_WORDS), default=Material.NONE
    )
    does = models.CharField(max_length=8, choices=choices(DOES_WORDS))
    price = models.DecimalField(max_digits=9, decimal_places=2, null=True)
    due_on = models.DateField()
    words = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("due_on", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0), name="task_price_not_negative"
            ),
        )
        indexes = (models.Index(fields=["due_on"], name="task_due"),)

    def __str__(self) -> str:
        material = "" if self.material == Material.NONE else f", {self.get_material_display()}"
        return f"{self.get_measure_display()}{material}: {self.finding}"

    def get_absolute_url(self) -> str:
        return reverse("exclusion_task", args=[self.pk])

    @property
    def is_customers(self) -> bool:
        return self.does == Does.CUSTOMER

    @property
    def stays_open(self) -> str:
        """What must be read before work at an opening that stays open."""
        return stays_open_words(self.finding.opening)

    @property
    def advice(self) -> str:
        return ADVICE.get(Measure(self.measure), "")

    @property
    def asks_for_animals(self) -> bool:
        found = self.finding
        return asks_for_animals(found.checkpoint, found.gap_nm, self.measure)


class TaskEnding(Stamped):
    """How a task ended: done, referred, or withdrawn; and what was seen inside before."""

    client_ref = models.UUIDField(unique=True)
    task = models.OneToOneField(ExclusionTask, on_delete=models.PROTECT, related_name="ending")
    kind = models.CharField(max_length=10, choices=choices(ENDING_WORDS))
    ended_on = models.DateField()
    inside = models.CharField(max_length=12, choices=choices(INSIDE_WORDS), blank=True)
    words = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, task {self.task_id}"


GUARDS = (
    Guard("sites_exclusiontask", keys=(("client_ref",),)),
    Guard("sites_taskending", keys=(("client_ref",), ("task_id",))),
)
