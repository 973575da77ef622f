"""What a jurisdiction asks of a record of use: dated, versioned rows, and who verified them."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.rules.profile_words import (
    ALLOWANCE_WORDS,
    ANCHOR_WORDS,
    DEADLINE_WORDS,
    EVIDENCE_WORDS,
    REACH_WORDS,
    Allowance,
    Anchor,
    Evidence,
)


class JurisdictionProfile(Stamped):
    """One version of one rule; once used or verified it is superseded, never edited.

    `applies`, `fields` and `one_of` are as `rules/profile_file.py` reads them; `order` is the
    rule's own order of the items, empty where none was read; `notices` are text and evidence,
    `when` the fact that makes one a finding; `copies` as `rules/copies.py` reads them;
    `used_at` is when a record first followed it.
    """

    code = models.CharField(max_length=20)
    version = models.PositiveIntegerField(default=1)
    reach = models.CharField("Whose rule", max_length=8, choices=choices(REACH_WORDS))
    state = models.CharField(max_length=2, blank=True)
    effective_on = models.DateField("In force from")
    citation = models.CharField(max_length=200)
    evidence = models.CharField(max_length=400)
    applies = models.JSONField(default=dict)
    fields = models.JSONField(default=dict)
    one_of = models.JSONField(default=list, blank=True)
    order = models.JSONField(default=list, blank=True)
    retention_years = models.PositiveSmallIntegerField(null=True, blank=True)
    retention_anchor = models.CharField(
        max_length=20, choices=choices(ANCHOR_WORDS), default=Anchor.APPLICATION_DATE
    )
    retention_evidence = models.CharField(
        max_length=8, choices=choices(EVIDENCE_WORDS), default=Evidence.UNKNOWN
    )
    deadline_kind = models.CharField(max_length=20, blank=True, choices=choices(DEADLINE_WORDS))
    deadline_amount = models.PositiveSmallIntegerField(default=0)
    deadline_evidence = models.CharField(
        max_length=8, choices=choices(EVIDENCE_WORDS), default=Evidence.UNKNOWN
    )
    notices = models.JSONField(default=list, blank=True)
    copies = models.JSONField(default=list, blank=True)
    unlisted_pest = models.CharField(
        max_length=8, choices=choices(ALLOWANCE_WORDS), default=Allowance.UNKNOWN
    )
    unlisted_method = models.CharField(
        max_length=8, choices=choices(ALLOWANCE_WORDS), default=Allowance.UNKNOWN
    )
    prescribed_text = models.TextField(blank=True)
    used_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ("code", "-version")
        constraints = (
            models.UniqueConstraint(fields=["code", "version"], name="profile_version_once"),
        )

    def __str__(self) -> str:
        return f"{self.code}, version {self.version}"

    def get_absolute_url(self) -> str:
        return reverse("profile", args=[self.pk])


class ProfileVerification(Stamped):
    """A second person has compared a version with the rule's own text.

    `is_one_person_firm`: nobody else could, and who entered it looked again a day later.
    """

    profile = models.ForeignKey(
        JurisdictionProfile, on_delete=models.PROTECT, related_name="verifications"
    )
    verified_at = models.DateTimeField()
    is_one_person_firm = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.profile} verified by {self.created_by}"


_SETTLED = (
    "OLD.used_at IS NOT NULL OR EXISTS (SELECT 1 FROM treatments_profileverification v "
    "WHERE v.profile_id = OLD.id)"
)
# a verified version is used later: only that mark may still be set, and only once
_CHANGED = f"({_SETTLED}) AND NOT ({{same}} AND OLD.used_at IS NULL AND NEW.used_at IS NOT NULL)"
_KEPT = (
    "code",
    "version",
    "reach",
    "state",
    "effective_on",
    "citation",
    "evidence",
    "applies",
    "fields",
    "one_of",
    "order",
    "retention_years",
    "retention_anchor",
    "retention_evidence",
    "deadline_kind",
    "deadline_amount",
    "deadline_evidence",
    "notices",
    "copies",
    "unlisted_pest",
    "unlisted_method",
    "prescribed_text",
    "created_at",
    "created_by_id",
)


def _same(column: str) -> str:
    """The same value in both, as text: PostgreSQL prints JSON alike and NULL is its own word."""
    old, new = (f"COALESCE(CAST({row}.\"{column}\" AS TEXT), '')" for row in ("OLD", "NEW"))
    return f"{old} = {new}"


GUARDS = (
    Guard(
        "treatments_jurisdictionprofile",
        update_when=_CHANGED.format(same=" AND ".join(_same(column) for column in _KEPT)),
        delete_when=_SETTLED,
        keys=(("code", "version"),),
    ),
    Guard("treatments_profileverification"),
)
