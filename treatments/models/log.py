"""The compliance log: leaves, signed heads, and the one row a branch that holds the frontier."""

from __future__ import annotations

from django.db import models

from accounts.append_only import Guard


class LogFrontier(models.Model):
    """The mutable end of a branch's log: how many leaves, and the roots that carry on from them.

    Taking this row is the lock of the log; sequence numbers come from it, so a gap is a deletion.
    """

    branch = models.OneToOneField("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    size = models.BigIntegerField(default=0)
    nodes = models.JSONField(default=list)
    last_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"Log of branch {self.branch_id}, {self.size} leaves"


class LogEntry(models.Model):
    """One leaf: the canonical bytes as hashed, in sequence without a gap."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    seq = models.BigIntegerField()
    kind = models.CharField(max_length=24)
    record = models.ForeignKey(
        "treatments.ApplicationRecord", on_delete=models.PROTECT, null=True, related_name="leaves"
    )
    at = models.DateTimeField()
    leaf = models.BinaryField()
    leaf_hash = models.CharField(max_length=64)

    class Meta:
        ordering = ("branch", "seq")
        verbose_name_plural = "log entries"
        constraints = (models.UniqueConstraint(fields=["branch", "seq"], name="leaf_seq_once"),)

    def __str__(self) -> str:
        return f"Leaf {self.seq} of branch {self.branch_id}"


class SignedHead(models.Model):
    """The root of a branch's log at a size, signed and never changed."""

    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    size = models.BigIntegerField()
    root = models.CharField(max_length=64)
    at = models.DateTimeField()
    key_fingerprint = models.CharField(max_length=64, blank=True)
    public_key = models.CharField(max_length=64, blank=True, default="")
    signature = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("branch", "-size")

    def __str__(self) -> str:
        return f"Head {self.size} of branch {self.branch_id}"


GUARDS = (
    Guard("treatments_logentry", keys=(("branch_id", "seq"),)),
    Guard("treatments_signedhead"),
)
