"""The register: training, continuing education and the firm's own papers; rows never change.

What was entered wrong is corrected or voided by another row with a reason; what is renewed is a
row of its own, and the old one keeps its days.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.models.people import Branch, Person
from accounts.rules.register_entries import FIRM_PAPER_WORDS, FirmPaperKind
from accounts.rules.training import BASIS_WORDS, Basis
from accounts.stamps import Stamped

_CORRECTED = Q(supersedes=None, reason="", is_void=False) | (
    Q(supersedes__isnull=False) & ~Q(reason="")
)


# neither voided nor corrected
COUNTED = Q(is_void=False, superseded_by=None)


class Paper(Stamped):
    """One entry of the register; `reason` says why it stands in the place of another."""

    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    reason = models.CharField(max_length=200, blank=True)
    is_void = models.BooleanField(default=False)

    class Meta:
        abstract = True

    @property
    def counts(self) -> bool:
        return not self.is_void and getattr(self, "superseded_by", None) is None


class TrainingRecord(Paper):
    """What qualified a noncertified applicator (content: 40 CFR 171.201, read)."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="trainings")
    basis = models.CharField(
        max_length=16, choices=[(one.value, BASIS_WORDS[one]) for one in Basis]
    )
    met_on = models.DateField()
    valid_until = models.DateField()
    title = models.CharField(max_length=160)
    topics = models.TextField(max_length=1000, blank=True)
    trainer = models.CharField(max_length=120)
    trainer_qualification = models.CharField(max_length=160)
    signed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("person", "-met_on", "-pk")
        constraints = (
            models.CheckConstraint(condition=_CORRECTED, name="training_corrected_with_reason"),
            models.CheckConstraint(
                condition=Q(valid_until__gte=F("met_on")), name="training_ends_after_it_was_met"
            ),
        )

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return self.person.get_absolute_url()


class ContinuingEducation(Paper):
    """Credits of one course, in one category of one state."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="education")
    state = models.CharField(max_length=2)
    category = models.CharField(max_length=40)
    credits = models.DecimalField(max_digits=5, decimal_places=2)
    taken_on = models.DateField()
    course = models.CharField(max_length=160)
    provider = models.CharField(max_length=120)
    evidence_number = models.CharField(max_length=60)

    class Meta:
        ordering = ("person", "-taken_on", "-pk")
        verbose_name_plural = "continuing education"
        constraints = (
            models.CheckConstraint(condition=_CORRECTED, name="education_corrected_with_reason"),
            models.CheckConstraint(condition=Q(credits__gt=0), name="education_has_credits"),
        )

    def __str__(self) -> str:
        return f"{self.course}, {self.evidence_number}"

    def get_absolute_url(self) -> str:
        return self.person.get_absolute_url()


class EducationCycle(Paper):
    """The credits that a state wants of a person in a category between two days."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="education_cycles")
    state = models.CharField(max_length=2)
    category = models.CharField(max_length=40, blank=True)
    starts_on = models.DateField()
    ends_on = models.DateField()
    credits_needed = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ("person", "state", "category", "-ends_on")
        constraints = (
            models.CheckConstraint(condition=_CORRECTED, name="cycle_corrected_with_reason"),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="cycle_ends_after_start"
            ),
            models.CheckConstraint(condition=Q(credits_needed__gt=0), name="cycle_wants_credits"),
        )

    def __str__(self) -> str:
        return f"{self.state} {self.category or 'every category'} through {self.ends_on}"

    def get_absolute_url(self) -> str:
        return self.person.get_absolute_url()


class FirmPaper(Paper):
    """A business license or insurance of a branch; `renews` names the one it follows."""

    branch = models.ForeignKey(Branch, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(
        max_length=24, choices=[(one.value, FIRM_PAPER_WORDS[one]) for one in FirmPaperKind]
    )
    number = models.CharField(max_length=60)
    issuer = models.CharField(max_length=120)
    insured_dollars = models.PositiveBigIntegerField(null=True, blank=True)
    starts_on = models.DateField()
    ends_on = models.DateField()
    renews = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="renewals"
    )

    class Meta:
        ordering = ("branch", "kind", "-ends_on")
        constraints = (
            models.CheckConstraint(condition=_CORRECTED, name="firm_paper_corrected_with_reason"),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="firm_paper_ends_after_start"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("firm_papers")


REGISTER_GUARDS = tuple(
    Guard(f"accounts_{table}", keys=(("supersedes_id",),))
    for table in ("trainingrecord", "continuingeducation", "educationcycle", "firmpaper")
)
