"""Who was talked to, when, and whom to call again."""

from __future__ import annotations

from django.db import models

from accounts.models.customers import Contact, Customer
from accounts.rules.contact_log import OUTCOME_WORDS, WAY_WORDS
from accounts.stamps import Stamped


class ContactEntry(Stamped):
    """One try to reach a customer, or one call of theirs; a later entry answers an earlier one.

    `property_ref` is the key of the property it was about: this floor knows no properties.
    """

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="+")
    contact = models.ForeignKey(Contact, on_delete=models.SET_NULL, null=True, related_name="+")
    property_ref = models.PositiveBigIntegerField(null=True)
    way = models.CharField(max_length=12, choices=list(WAY_WORDS.items()))
    outcome = models.CharField(max_length=12, choices=list(OUTCOME_WORDS.items()))
    name = models.CharField(max_length=120, blank=True)
    said = models.CharField(max_length=500, blank=True)
    call_again_on = models.DateField(null=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        indexes = (models.Index(fields=["customer", "created_at"], name="contact_entry_customer"),)

    def __str__(self) -> str:
        return f"{self.get_outcome_display()}: {self.name}"
