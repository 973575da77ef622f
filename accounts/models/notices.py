"""What customers are told: notices, the texts they are made from, and what is known of them."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.append_only import Guard
from accounts.rules.notices import EVIDENCE_WORDS, KIND_WORDS, STATE_WORDS, WAY_WORDS
from accounts.stamps import Stamped


class NoticeTemplate(Stamped):
    """The firm's own text of one kind of notice; without a row the house's text holds."""

    kind = models.CharField(max_length=24, unique=True, choices=list(KIND_WORDS.items()))
    subject = models.CharField(max_length=150)
    body = models.TextField(max_length=4000)

    class Meta:
        ordering = ("kind",)

    def __str__(self) -> str:
        return self.get_kind_display()


class Notice(Stamped):
    """One notice to one person by one way, with name, address and words as they were used.

    `about` is the thing by table and key, `unique_key` keeps it from being made twice. Words and
    addresses are never changed, only forgotten (`forgotten_at`); the digest of the paper stays.
    """

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    customer = models.ForeignKey(
        "accounts.Customer", on_delete=models.PROTECT, related_name="notices"
    )
    kind = models.CharField(max_length=24, choices=list(KIND_WORDS.items()))
    way = models.CharField(max_length=8, choices=list(WAY_WORDS.items()))
    state = models.CharField(max_length=12, choices=list(STATE_WORDS.items()))
    about = models.CharField(max_length=80)
    unique_key = models.CharField(max_length=160, unique=True)
    to_name = models.CharField(max_length=160, blank=True)
    to_email = models.EmailField(blank=True)
    subject = models.CharField(max_length=300, blank=True)
    body = models.TextField(blank=True)
    attachment = models.BinaryField(null=True)
    attachment_name = models.CharField(max_length=80, blank=True)
    attachment_type = models.CharField(max_length=80, blank=True)
    attachment_sha256 = models.CharField(max_length=64, blank=True)
    attempts = models.PositiveIntegerField(default=0)
    waits_since = models.DateTimeField(null=True)
    next_try_at = models.DateTimeField(null=True)
    claimed_at = models.DateTimeField(null=True)
    last_answer = models.CharField(max_length=200, blank=True)
    link_contact = models.ForeignKey(
        "accounts.Contact", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    link_property_ref = models.PositiveBigIntegerField(null=True)
    link_last_day = models.DateField(null=True)
    keep_until = models.DateField(null=True)
    forgotten_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        indexes = (
            models.Index(fields=["state", "next_try_at"], name="notice_state_try"),
            models.Index(fields=["branch", "created_at"], name="notice_branch_day"),
            models.Index(fields=["about"], name="notice_about"),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("notice", args=[self.pk])


class NoticeEvidence(models.Model):
    """One thing that is known of a notice at the other end: when, and who says so."""

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="evidence")
    kind = models.CharField(max_length=8, choices=list(EVIDENCE_WORDS.items()))
    at = models.DateTimeField()
    by = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, null=True, related_name="+")
    said = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("at", "pk")

    def __str__(self) -> str:
        return self.get_kind_display()


_KEPT = ("id", "kind", "way", "about", "unique_key", "attachment", "attachment_sha256")
# a notice says for ever what it was; words and addresses may only be forgotten
_REWRITTEN = " OR ".join(
    [
        *(f"NEW.{name} <> OLD.{name}" for name in _KEPT),
        *(
            f"(NEW.{name} <> OLD.{name} AND NEW.{name} <> '')"
            for name in ("to_name", "to_email", "subject", "body")
        ),
    ]
)
NOTICE_GUARDS = (
    Guard("accounts_notice", update_when=_REWRITTEN, keys=(("unique_key",),)),
    Guard("accounts_noticeevidence"),
)
