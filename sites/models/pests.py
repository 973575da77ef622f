"""What lives here."""

from __future__ import annotations

from django.db import models

from accounts.stamps import Stamped
from sites.rules.places import PEST_GROUP_WORDS, choices


class Pest(Stamped):
    """One pest by its common and scientific name, and the group its windows are kept for."""

    class Kind(models.TextChoices):
        TARGET = "target", "Target pest"
        INVADER = "invader", "Occasional invader"
        BENEFICIAL = "beneficial", "Beneficial"
        REFER = "refer", "Refer to a specialist"

    common_name = models.CharField(max_length=80, unique=True)
    scientific_name = models.CharField(max_length=120, blank=True)
    group = models.CharField(max_length=16, choices=choices(PEST_GROUP_WORDS))
    kind = models.CharField(max_length=12, choices=Kind, default=Kind.TARGET)

    class Meta:
        ordering = ("common_name",)

    def __str__(self) -> str:
        return self.common_name
