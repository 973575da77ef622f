"""Who made a row and when: the one abstract base of every business table."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.utils import timezone


class Stamped(models.Model):
    """A row that says when it was made and by whom; nobody means the system itself."""

    created_at = models.DateTimeField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )

    class Meta:
        abstract = True
