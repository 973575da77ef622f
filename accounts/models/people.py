"""Who works here: branches, people, the roles granted to them, their licenses."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.permissions import Role
from accounts.rules.respirators import KIND_WORDS
from accounts.stamps import Stamped

KIND_CHOICES = [(kind.value, words) for kind, words in KIND_WORDS.items()]


class Branch(Stamped):
    """A shop: it decides the log, the time zone of dates, the phone on a notice, the license."""

    class Units(models.TextChoices):
        US = "us", "US customary"
        METRIC = "metric", "Metric"

    name = models.CharField(max_length=120, unique=True)
    business_license_number = models.CharField(max_length=60, blank=True)
    street = models.CharField(max_length=200, blank=True)
    city = models.CharField(max_length=100, blank=True)
    state = models.CharField(max_length=2)
    zip_code = models.CharField("ZIP code", max_length=10, blank=True)
    phone = models.CharField(max_length=20, blank=True)
    after_hours_phone = models.CharField(max_length=20, blank=True)
    time_zone = models.CharField(max_length=60, default="America/New_York")
    units = models.CharField(max_length=6, choices=Units, default=Units.US)
    latitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)
    longitude = models.DecimalField(max_digits=9, decimal_places=6, null=True, blank=True)

    class Meta:
        ordering = ("name",)
        verbose_name_plural = "branches"

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("branch_edit", args=[self.pk])


class PersonQuerySet(models.QuerySet["Person"]):
    """People in the words of the office."""

    def active(self) -> PersonQuerySet:
        return self.filter(is_active=True)

    def technicians(self) -> PersonQuerySet:
        return self.active().filter(role_grants__role=Role.TECHNICIAN)


class PersonManager(BaseUserManager.from_queryset(PersonQuerySet)):  # type: ignore[misc]
    """The manager Django asks for; people are invited through a service."""

    def get_by_natural_key(self, email: str) -> Person:
        person: Person = self.get(email__iexact=email)
        return person


class Person(Stamped, AbstractBaseUser):
    """Somebody of the firm who signs in with an e-mail address."""

    email = models.EmailField("E-mail", unique=True)
    full_name = models.CharField(max_length=120)
    branch = models.ForeignKey(Branch, on_delete=models.PROTECT, related_name="people")
    phone = models.CharField(max_length=20, blank=True)
    is_active = models.BooleanField(default=True)

    objects: ClassVar[PersonManager] = PersonManager()
    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["full_name"]

    class Meta:
        ordering = ("full_name",)
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.full_name

    def get_absolute_url(self) -> str:
        return reverse("person", args=[self.pk])

    @cached_property
    def roles(self) -> frozenset[Role]:
        return frozenset(Role(grant.role) for grant in self.role_grants.all())


class RoleGrant(Stamped):
    """One role a person holds."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="role_grants")
    role = models.CharField(max_length=12, choices=[(role.value, role.value) for role in Role])

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["person", "role"], name="role_granted_once"),
        )

    def __str__(self) -> str:
        return f"{self.person}: {self.role}"


class ApplicatorLicenseQuerySet(models.QuerySet["ApplicatorLicense"]):
    """Licenses as an inspector asks for them."""

    def in_force(self, on: date) -> ApplicatorLicenseQuerySet:
        return self.filter(issued_on__lte=on, expires_on__gte=on)

    def of_state(self, state: str) -> ApplicatorLicenseQuerySet:
        return self.filter(state=state)


class ApplicatorLicense(Stamped):
    """A state's permission to apply pesticides, in force from issue to expiry, both included."""

    class Kind(models.TextChoices):
        CERTIFIED = "certified", "Certified applicator"
        REGISTERED_TECHNICIAN = "registered_technician", "Registered technician"
        TRAINEE = "trainee", "Trainee"

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="licenses")
    kind = models.CharField(max_length=24, choices=Kind)
    number = models.CharField(max_length=40)
    state = models.CharField(max_length=2)
    categories = models.CharField(max_length=200, blank=True, help_text="As on the license.")
    issued_on = models.DateField()
    expires_on = models.DateField()
    supervisor = models.ForeignKey(
        Person,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name="Certified applicator in charge",
    )

    objects = ApplicatorLicenseQuerySet.as_manager()

    class Meta:
        ordering = ("person", "state", "-expires_on")
        constraints = (
            models.UniqueConstraint(
                fields=["state", "number", "issued_on"], name="license_term_once"
            ),
            models.CheckConstraint(
                condition=Q(expires_on__gte=models.F("issued_on")), name="license_ends_after_issue"
            ),
        )

    def __str__(self) -> str:
        return f"{self.state} {self.number}"

    def get_absolute_url(self) -> str:
        return self.person.get_absolute_url()


class RespiratorPaperQuerySet(models.QuerySet["RespiratorPaper"]):
    """Papers as they count."""

    def current(self) -> RespiratorPaperQuerySet:
        return self.filter(ended_at=None, superseded_by=None)


class RespiratorPaper(Stamped):
    """Until when somebody may wear one respirator: medical clearance, fit test, cartridge.

    `respirator` is its make, model and size; the clearance of the newest paper holds for every
    kind. A paper is not changed: another one supersedes it, or it is ended with a reason.
    """

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="respirator_papers")
    kind = models.CharField(max_length=24, choices=KIND_CHOICES, blank=True)
    respirator = models.CharField(max_length=80)
    medical_until = models.DateField()
    fit_test_until = models.DateField()
    cartridge_until = models.DateField(null=True, blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_reason = models.CharField(max_length=200, blank=True)

    objects = RespiratorPaperQuerySet.as_manager()

    class Meta:
        ordering = ("person", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_reason="")
                | (Q(ended_at__isnull=False) & ~Q(ended_reason="")),
                name="respirator_paper_ends_with_reason",
            ),
        )

    def __str__(self) -> str:
        return self.respirator

    def get_absolute_url(self) -> str:
        return self.person.get_absolute_url()

    @property
    def follower(self) -> RespiratorPaper | None:
        """The paper that supersedes it."""
        return getattr(self, "superseded_by", None)

    @property
    def counts(self) -> bool:
        return self.ended_at is None and self.follower is None
