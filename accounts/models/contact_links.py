"""A link by which a contact of a customer reads about one property, without an account."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import models

from accounts.models.customers import Contact, Customer
from accounts.stamps import Stamped


class ContactLink(Stamped):
    """One contact, one property of their customer, until a moment or until it is taken back.

    `property_ref` is the key of the property: this floor knows no properties. The link's random
    token is shown once, or stands in one message (`made_for`), and only its SHA-256 is kept.
    """

    contact = models.ForeignKey(Contact, on_delete=models.CASCADE, related_name="links")
    made_for = models.ForeignKey(
        "accounts.Notice", on_delete=models.PROTECT, null=True, related_name="links"
    )
    property_ref = models.PositiveBigIntegerField()
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    last_opened_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        indexes = (models.Index(fields=["property_ref"], name="contact_link_property"),)

    def __str__(self) -> str:
        return f"Link {self.pk} of contact {self.contact_id}"

    @property
    def expires_on(self) -> date:
        """The last day on which it opens, by the clock of the branch."""
        zone = ZoneInfo(self.contact.customer.branch.time_zone)
        return (self.expires_at - timedelta(seconds=1)).astimezone(zone).date()

    def lasts(self, now: datetime) -> bool:
        """Whether it is neither over nor taken back, and the customer is still one."""
        is_active = self.contact.customer.status == Customer.Status.ACTIVE
        return is_active and self.revoked_at is None and now < self.expires_at
