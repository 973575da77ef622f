"""Programs, agreements, their papers and what shows that they were accepted."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from scheduling.rules.agreement_states import AGREEMENT_STATE_WORDS, AgreementState
from scheduling.rules.agreements import (
    ACCEPTED_WORDS,
    PRICE_PER_WORDS,
    Terms,
    price_words,
    rhythm_words,
)
from sites.rules.places import PEST_GROUP_WORDS, PLACE_WORDS, PestGroup, Place, choices
from treatments.rules.products import METHOD_WORDS, Method


class ServiceProgram(Stamped):
    """What a plan covers and its rhythm; a change counts for offers made after it."""

    name = models.CharField(max_length=120, unique=True)
    pest_groups = models.JSONField(default=list)
    places = models.JSONField(default=list)
    methods = models.JSONField(default=list)
    by_residual = models.BooleanField(default=True)
    every_days = models.PositiveSmallIntegerField(null=True, blank=True)
    seasons = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("name", "pk")

    def __str__(self) -> str:
        return self.name

    @property
    def pest_words(self) -> str:
        return ", ".join(PEST_GROUP_WORDS[PestGroup(one)] for one in self.pest_groups)

    @property
    def place_words(self) -> str:
        return ", ".join(PLACE_WORDS[Place(one)] for one in self.places)

    @property
    def method_words(self) -> str:
        return ", ".join(METHOD_WORDS[Method(one)] for one in self.methods)

    @property
    def rhythm(self) -> str:
        return rhythm_words(
            by_residual=self.by_residual, every_days=self.every_days, seasons=self.seasons
        )


class ServiceAgreement(Stamped):
    """A program bound to a property: term, price, notice, promise, and where it stands."""

    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="+")
    program = models.ForeignKey(ServiceProgram, on_delete=models.PROTECT, related_name="agreements")
    state = models.CharField(
        max_length=8, choices=choices(AGREEMENT_STATE_WORDS), default=AgreementState.DRAFT
    )
    starts_on = models.DateField()
    months = models.PositiveSmallIntegerField(default=12)
    renews = models.BooleanField(default=False)
    notice_days = models.PositiveSmallIntegerField(default=30)
    re_service = models.BooleanField(default=True)
    price = models.DecimalField(max_digits=9, decimal_places=2)
    price_per = models.CharField(max_length=8, choices=choices(PRICE_PER_WORDS))
    ends_on = models.DateField()

    class Meta:
        ordering = ("-starts_on", "-pk")
        indexes = (models.Index(fields=["state", "ends_on"], name="agreement_state_end"),)
        constraints = (
            models.UniqueConstraint(
                fields=["property", "program"],
                condition=Q(state__in=[AgreementState.ACTIVE, AgreementState.PAUSED]),
                name="one_running_agreement",
            ),
        )

    def __str__(self) -> str:
        return f"Agreement {self.pk}, {self.program}"

    def get_absolute_url(self) -> str:
        return reverse("agreement", args=[self.pk])

    def terms(self) -> Terms:
        """The terms as the rules take them."""
        return Terms(
            self.starts_on, self.months, self.renews, self.notice_days,
            self.re_service, self.price, self.price_per,
        )  # fmt: skip

    def price_words(self) -> str:
        """The price as printed."""
        return price_words(self.price, self.price_per)

    def runs_on(self, day: date) -> bool:
        """Whether it is active and the day lies in it."""
        is_inside = self.starts_on <= day <= self.ends_on
        return self.state == AgreementState.ACTIVE and is_inside


class AgreementPaper(Stamped):
    """One version of an agreement as it was offered; never changed."""

    agreement = models.ForeignKey(ServiceAgreement, on_delete=models.PROTECT, related_name="papers")
    version = models.PositiveSmallIntegerField()
    pest_groups = models.JSONField()
    content = models.BinaryField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("-version",)
        constraints = (
            models.UniqueConstraint(fields=["agreement", "version"], name="one_paper_a_version"),
        )

    def __str__(self) -> str:
        return f"Paper {self.version} of {self.agreement}"


class AgreementAcceptance(Stamped):
    """Who accepted which paper, how and when; never changed."""

    paper = models.OneToOneField(
        AgreementPaper, on_delete=models.PROTECT, related_name="acceptance"
    )
    sha256 = models.CharField(max_length=64)
    how = models.CharField(max_length=6, choices=choices(ACCEPTED_WORDS))
    signer = models.CharField(max_length=120)
    signature = models.TextField(blank=True)
    scan = models.BinaryField(null=True)
    scan_sha256 = models.CharField(max_length=64, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.get_how_display()}: {self.signer}"


class AgreementStep(Stamped):
    """One change of state of an agreement, with its reason; never changed."""

    agreement = models.ForeignKey(ServiceAgreement, on_delete=models.PROTECT, related_name="steps")
    old = models.CharField(max_length=8, choices=choices(AGREEMENT_STATE_WORDS))
    new = models.CharField(max_length=8, choices=choices(AGREEMENT_STATE_WORDS))
    reason = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.get_old_display()} to {self.get_new_display()}"


AGREEMENT_GUARDS = (
    Guard("scheduling_agreementpaper", keys=(("agreement_id", "version"),)),
    Guard("scheduling_agreementacceptance", keys=(("paper_id",),)),
    Guard("scheduling_agreementstep"),
)
