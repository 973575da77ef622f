"""The identification key as the firm keeps it, and what was identified with it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.identification.words import (
    CONFIDENCE_WORDS,
    EVIDENCE_WORDS,
    KIND_WORDS,
    Evidence,
)
from sites.rules.places import choices


class Trait(Stamped):
    """One question of the key; a contradiction in one that `excludes` is final."""

    code = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=60)
    question = models.CharField(max_length=160)
    help_text = models.CharField(max_length=200, blank=True)
    excludes = models.BooleanField(default=False)
    position = models.PositiveSmallIntegerField()
    is_firms_own = models.BooleanField(default=False)

    class Meta:
        ordering = ("position", "pk")

    def __str__(self) -> str:
        return self.name


class TraitValue(Stamped):
    """One answer to the question of a trait."""

    trait = models.ForeignKey(Trait, on_delete=models.CASCADE, related_name="values")
    code = models.SlugField(max_length=30)
    words = models.CharField(max_length=80)
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("trait", "position", "pk")
        constraints = (
            models.UniqueConstraint(fields=["trait", "code"], name="value_code_once_a_trait"),
        )

    def __str__(self) -> str:
        return self.words


class Taxon(Stamped):
    """One animal of the key with what one does about it; lengths in mm."""

    code = models.SlugField(max_length=30, unique=True)
    common_name = models.CharField(max_length=80, unique=True)
    scientific_name = models.CharField(max_length=120, blank=True)
    kind = models.CharField(max_length=12, choices=choices(KIND_WORDS))
    description = models.CharField(max_length=400, blank=True)
    advice = models.JSONField(default=list)
    advice_text = models.CharField(max_length=400, blank=True)
    needs_specimen = models.BooleanField(default=False)
    mm_low = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    mm_high = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    edition = models.CharField(max_length=10, blank=True)
    is_firms_own = models.BooleanField(default=False)

    class Meta:
        ordering = ("common_name",)
        verbose_name_plural = "taxa"
        constraints = (
            models.CheckConstraint(
                condition=Q(mm_low__isnull=True, mm_high__isnull=True)
                | Q(mm_low__gt=0, mm_high__gte=F("mm_low")),
                name="taxon_lengths_in_order",
            ),
        )

    def __str__(self) -> str:
        return self.common_name

    def get_absolute_url(self) -> str:
        return reverse("taxon", args=[self.pk])


class TaxonTrait(models.Model):
    """One value that a taxon may show, and how that is known."""

    taxon = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="shown")
    value = models.ForeignKey(TraitValue, on_delete=models.PROTECT, related_name="+")
    evidence = models.CharField(
        max_length=8, choices=choices(EVIDENCE_WORDS), default=Evidence.MEMORY
    )
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["taxon", "value"], name="value_once_a_taxon"),
        )

    def __str__(self) -> str:
        return f"{self.taxon}: {self.value}"


class LookAlike(models.Model):
    """Two taxa taken for each other and the trait that separates them."""

    first = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Taxon, on_delete=models.CASCADE, related_name="+")
    trait = models.ForeignKey(Trait, on_delete=models.PROTECT, related_name="+")
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["first", "second"], name="look_alikes_once"),
        )

    def __str__(self) -> str:
        return f"{self.first} and {self.second}"


class Identification(models.Model):
    """What was found to be what, with its evidence; never changed, a later one stands beside it.

    `seen` and `ranking` are frozen in words; `name` is the taxon's name then, empty when it was
    not settled. `photo_ref` and `visit_ref` name a photo and a visit as text.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    property = models.ForeignKey(
        "sites.Property", on_delete=models.PROTECT, related_name="identifications"
    )
    zone = models.ForeignKey(
        "sites.TreatableZone", on_delete=models.PROTECT, null=True, related_name="+"
    )
    found_where = models.CharField(max_length=120, blank=True)
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=80, blank=True)
    advice = models.JSONField(default=list)
    confidence = models.CharField(max_length=8, choices=choices(CONFIDENCE_WORDS))
    seen = models.JSONField()
    ranking = models.JSONField()
    specimen_kept = models.BooleanField(default=False)
    photo_ref = models.CharField(max_length=64, blank=True)
    note = models.CharField(max_length=400, blank=True)
    visit_ref = models.CharField(max_length=36, blank=True)
    at = models.DateTimeField(default=timezone.now)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (models.Index(fields=["property", "at"], name="identification_property"),)

    def __str__(self) -> str:
        return self.name or "Not settled"

    def get_absolute_url(self) -> str:
        return reverse("identification", args=[self.pk])


GUARDS = (Guard("sites_identification", keys=(("client_ref",),)),)
