"""Pictures of what was found and of what was done."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.models.exclusion import TaskEnding
from sites.models.inspections import Finding
from sites.models.places import Property


class Photo(Stamped):
    """One picture, written anew without its position; a sealed one is the file as it came.

    `taken` is the time the phone wrote into the file, as text; `original_sha256` is of what came.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="photos")
    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, null=True, related_name="photos")
    task_ending = models.ForeignKey(
        TaskEnding, on_delete=models.PROTECT, null=True, related_name="photos"
    )
    name = models.CharField(max_length=120)
    content = models.BinaryField()
    content_type = models.CharField(max_length=40)
    is_sealed = models.BooleanField(default=False)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    original_sha256 = models.CharField(max_length=64)
    taken = models.CharField(max_length=19, blank=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"Photo {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("photo", args=[self.pk])


GUARDS = (Guard("sites_photo"),)
