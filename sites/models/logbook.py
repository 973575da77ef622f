"""What is written about pests and their management at one property, for years."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.models.places import Property
from sites.rules.sightings import HOW_MANY_WORDS, WAY_WORDS, HowMany, Way
from sites.rules.site_codes import CODE_LENGTH


class SiteCode(Stamped):
    """The short code in the logbook of a property by which anybody there adds a sighting."""

    property = models.ForeignKey(Property, on_delete=models.CASCADE, related_name="codes")
    code = models.CharField(max_length=CODE_LENGTH, unique=True, editable=False)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=["property"], condition=Q(revoked_at__isnull=True), name="site_code_once"
            ),
        )

    def __str__(self) -> str:
        return f"Code of {self.property}"


class Sighting(Stamped):
    """A pest, or signs of one, that somebody at the property saw.

    `once` is made with the form: the same form sent twice is one sighting.
    """

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="sightings")
    what = models.CharField(max_length=200)
    spot = models.CharField(max_length=160)
    seen_on = models.DateField()
    seen_at = models.CharField(max_length=40, blank=True)
    how_many = models.CharField(
        max_length=8, choices=[(one.value, HOW_MANY_WORDS[one]) for one in HowMany]
    )
    way = models.CharField(max_length=8, choices=[(one.value, WAY_WORDS[one]) for one in Way])
    once = models.UUIDField(editable=False)

    class Meta:
        ordering = ("-seen_on", "-pk")
        constraints = (
            models.UniqueConstraint(fields=["property", "once"], name="sighting_form_once"),
            models.CheckConstraint(condition=~Q(what="") & ~Q(spot=""), name="sighting_says_what"),
        )

    def __str__(self) -> str:
        return f"Sighting {self.pk} at {self.property}"

    def get_absolute_url(self) -> str:
        return reverse("sighting", args=[self.pk])


class SightingReporter(models.Model):
    """Who saw it, if they said so: beside the sighting, so that a name can be forgotten."""

    sighting = models.OneToOneField(Sighting, on_delete=models.CASCADE, related_name="reporter")
    name = models.CharField(max_length=80)

    def __str__(self) -> str:
        return self.name


class SightingAnswer(Stamped):
    """What was done about a sighting, with the visit or record named as frozen text."""

    sighting = models.ForeignKey(Sighting, on_delete=models.PROTECT, related_name="answers")
    note = models.TextField(max_length=1000)
    done_in = models.CharField(max_length=60, blank=True)
    done_in_words = models.CharField(max_length=200)

    class Meta:
        ordering = ("created_at", "pk")
        constraints = (models.CheckConstraint(condition=~Q(note=""), name="answer_says_what"),)

    def __str__(self) -> str:
        return f"Answer {self.pk} to sighting {self.sighting_id}"


class ManagementPlan(Stamped):
    """One version of the integrated pest management plan of a property."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="plans")
    version = models.PositiveIntegerField()
    text = models.TextField(max_length=20_000)
    written_on = models.DateField()
    written_by = models.CharField(max_length=120)

    class Meta:
        ordering = ("property", "-version")
        constraints = (
            models.UniqueConstraint(fields=["property", "version"], name="plan_version_once"),
            models.CheckConstraint(
                condition=Q(version__gte=1) & ~Q(text="") & ~Q(written_by=""),
                name="plan_says_what_and_by_whom",
            ),
        )

    def __str__(self) -> str:
        return f"Plan of {self.property}, version {self.version}"


class SiteReview(Stamped):
    """A look back over the pest management of a property, and when the next one is due."""

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="reviews")
    reviewed_on = models.DateField()
    reviewed_by = models.CharField(max_length=200)
    notes = models.TextField(max_length=4000)
    next_due = models.DateField()

    class Meta:
        ordering = ("-reviewed_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(next_due__gt=models.F("reviewed_on")), name="review_is_before_the_next"
            ),
        )

    def __str__(self) -> str:
        return f"Review of {self.property} on {self.reviewed_on}"


class CorrectiveAction(Stamped):
    """Something at the property that must be put right against pests, and by whom."""

    class Side(models.TextChoices):
        CUSTOMER = "customer", "The customer"
        FIRM = "firm", "We"

    property = models.ForeignKey(Property, on_delete=models.PROTECT, related_name="actions")
    what = models.CharField(max_length=300)
    spot = models.CharField(max_length=160)
    side = models.CharField("Who puts it right", max_length=8, choices=Side)
    asked_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("-asked_on", "-pk")

    def __str__(self) -> str:
        return self.what


class CorrectiveStep(Stamped):
    """What was done about a corrective action; the last step says whether it is put right."""

    action = models.ForeignKey(CorrectiveAction, on_delete=models.PROTECT, related_name="steps")
    note = models.CharField(max_length=300)
    done_on = models.DateField()
    is_done = models.BooleanField(default=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.note


GUARDS = (
    Guard(table="sites_sighting", keys=(("property_id", "once"),)),
    Guard(table="sites_sightinganswer"),
    Guard(table="sites_managementplan", keys=(("property_id", "version"),)),
    Guard(table="sites_sitereview"),
    Guard(table="sites_correctiveaction"),
    Guard(table="sites_correctivestep"),
)
