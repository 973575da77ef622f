"""Who the work is for: customers and the people one talks to."""

from __future__ import annotations

from django.db import models
from django.urls import reverse

from accounts.models.people import Branch
from accounts.stamps import Stamped


class Customer(Stamped):
    """Who pays and whom the promise was made to."""

    class Kind(models.TextChoices):
        RESIDENTIAL = "residential", "Residential"
        COMMERCIAL = "commercial", "Commercial"

    class Status(models.TextChoices):
        ACTIVE = "active", "Active"
        CLOSED = "closed", "Closed"

    branch = models.ForeignKey(Branch, on_delete=models.PROTECT, related_name="customers")
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=12, choices=Kind)
    billing_address = models.TextField(max_length=400, blank=True)
    status = models.CharField(max_length=8, choices=Status, default=Status.ACTIVE)

    class Meta:
        ordering = ("name",)
        indexes = (models.Index(fields=["name"], name="customer_name"),)

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("customer", args=[self.pk])


class Contact(Stamped):
    """A person at the customer's, what they are to the place, and what they want to hear."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        MANAGER = "manager", "Manager"
        TENANT = "tenant", "Tenant"
        KEY_HOLDER = "key_holder", "Key holder"
        SCHOOL_IPM = "school_ipm", "School IPM coordinator"
        BILLS = "bills", "Bills"
        EMERGENCY = "emergency", "Emergency"

    customer = models.ForeignKey(Customer, on_delete=models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Role, default=Role.OWNER)
    phone = models.CharField(max_length=20, blank=True, help_text="Stored as +1 and ten digits.")
    email = models.EmailField("E-mail", blank=True)
    wants_notices = models.BooleanField(default=True)
    texts_agreed_on = models.DateField(
        "Agreed to text messages on",
        null=True,
        blank=True,
        help_text="Empty: no text messages.",
    )

    class Meta:
        ordering = ("name",)
        indexes = (models.Index(fields=["phone"], name="contact_phone"),)

    def __str__(self) -> str:
        return self.name
