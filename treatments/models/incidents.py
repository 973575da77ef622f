"""A spill, exposure, illness or drift: what was reported, and every later entry about it.

Nothing is ever written over: later entries complete a report, tell of the agency's notice, close it
or open it again. Words that may name somebody stand beside the report, or salted in their entry.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped
from sites.rules.places import choices
from treatments.models.records import ApplicationRecord
from treatments.rules.incidents import ADDENDUM_WORDS, CARE_WORDS, INCIDENT_WORDS, WAY_WORDS
from treatments.rules.retention import FIRM_DEFAULT_YEARS


class Incident(Stamped):
    """One incident as first reported, with the clock of the agency notice as it was known then.

    Where is a property, a vehicle, or a personal value; `state` decides the clock. `notice_due_at`
    is empty where no rule with hours is known; `notice_sentence` says which it is.
    """

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=2)
    kind = models.CharField(max_length=10, choices=choices(INCIDENT_WORDS))
    happened_at = models.DateTimeField()
    property = models.ForeignKey(
        "sites.Property", on_delete=models.PROTECT, null=True, related_name="+"
    )
    vehicle = models.ForeignKey(
        "treatments.StockPlace", on_delete=models.PROTECT, null=True, related_name="+"
    )
    visit_ref = models.CharField(max_length=40, blank=True)
    label_version = models.ForeignKey(
        "treatments.LabelVersion", on_delete=models.PROTECT, null=True, related_name="+"
    )
    product_name = models.CharField(max_length=120, blank=True)
    registration_number = models.CharField(max_length=40, blank=True)
    amount = models.CharField(max_length=20, blank=True)
    amount_unit = models.CharField(max_length=8, blank=True)
    done = models.JSONField(default=list)
    care = models.CharField(max_length=10, choices=choices(CARE_WORDS))
    notice_rule = models.CharField(max_length=40, blank=True)
    notice_hours = models.PositiveIntegerField(null=True)
    notice_due_at = models.DateTimeField(null=True)
    notice_sentence = models.CharField(max_length=300)
    notice_clause = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-happened_at", "-pk")
        indexes = (models.Index(fields=["branch", "happened_at"], name="incident_branch_day"),)

    def __str__(self) -> str:
        return f"Incident {self.pk}: {self.get_kind_display().lower()}"

    def get_absolute_url(self) -> str:
        return reverse("incident", args=[self.pk])


class IncidentRecord(models.Model):
    """A record that an incident concerns."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="concerns")
    record = models.ForeignKey(ApplicationRecord, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["incident", "record"], name="incident_record_once"),
        )

    def __str__(self) -> str:
        return f"Incident {self.incident_id} concerns record {self.record_id}"


class IncidentPersonalValue(models.Model):
    """Words of a report that may name somebody, and the salt of their digest in the log leaf."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="personal_values")
    field = models.CharField(max_length=16)
    value = models.TextField()
    salt = models.BinaryField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["incident", "field"], name="incident_value_once"),
        )

    def __str__(self) -> str:
        return f"{self.field} of incident {self.incident_id}"


class IncidentAddendum(Stamped):
    """A later entry: something added, a notice to an agency, the closing or opening again.

    `words` stand in the leaf as a digest with `salt`, since they may name somebody; both are empty
    once they were forgotten.
    """

    client_ref = models.UUIDField(unique=True)
    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="addenda")
    kind = models.CharField(max_length=10, choices=choices(ADDENDUM_WORDS))
    words = models.TextField(blank=True)
    salt = models.BinaryField()
    agency = models.CharField(max_length=120, blank=True)
    way = models.CharField(max_length=10, choices=choices(WAY_WORDS), blank=True)
    given_at = models.DateTimeField(null=True)
    given_by = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, related_name="+"
    )
    reference = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ("pk",)
        verbose_name_plural = "incident addenda"
        constraints = (
            models.CheckConstraint(
                condition=(
                    Q(kind="notice", given_at__isnull=False, given_by__isnull=False) & ~Q(agency="")
                )
                | (
                    ~Q(kind="notice")
                    & Q(agency="", way="", reference="", given_at=None, given_by=None)
                ),
                name="notice_names_the_agency",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, incident {self.incident_id}"


def _year(text: str) -> str:
    return f"CAST(substr(CAST({text} AS text), 1, 4) AS integer)"


def _still_kept(key: str) -> str:
    """Whether an incident is open, its term runs, or one of its records is kept or held."""
    ended = f"{FIRM_DEFAULT_YEARS} >= {_year('CURRENT_DATE')}"
    turn = (
        f"SELECT a.kind FROM treatments_incidentaddendum a WHERE a.incident_id = {key} "
        "AND a.kind IN ('closing', 'reopening') ORDER BY a.id DESC LIMIT 1"
    )
    records = f"FROM treatments_incidentrecord c WHERE c.incident_id = {key} AND EXISTS"
    return (
        f"COALESCE(({turn}), 'open') <> 'closing' "
        f"OR EXISTS (SELECT 1 FROM treatments_incident i WHERE i.id = {key} "
        f"AND {_year('i.created_at')} + {ended}) "
        f"OR EXISTS (SELECT 1 FROM treatments_incidentaddendum a WHERE a.incident_id = {key} "
        f"AND {_year('a.created_at')} + {ended}) "
        f"OR EXISTS (SELECT 1 {records} (SELECT 1 FROM treatments_applicationrecord r "
        "WHERE r.id = c.record_id AND r.retain_until >= CURRENT_DATE)) "
        f"OR EXISTS (SELECT 1 {records} (SELECT 1 FROM treatments_retentionhold h "
        "WHERE h.record_id = c.record_id AND h.released_at IS NULL))"
    )


_SAME = (
    "id", "client_ref", "incident_id", "kind", "agency", "way", "given_at", "given_by_id",
    "reference", "created_at", "created_by_id",
)  # fmt: skip
_MORE_THAN_FORGOTTEN = " OR ".join(
    (
        "NEW.words <> ''",
        "length(NEW.salt) > 0",
        *(
            f"COALESCE(CAST(NEW.{one} AS text), '') <> COALESCE(CAST(OLD.{one} AS text), '')"
            for one in _SAME
        ),
        _still_kept("OLD.incident_id"),
    )
)
GUARDS = (
    Guard("treatments_incident", keys=(("client_ref",),)),
    Guard("treatments_incidentrecord", keys=(("incident_id", "record_id"),)),
    Guard(
        "treatments_incidentpersonalvalue",
        delete_when=_still_kept("OLD.incident_id"),
        keys=(("incident_id", "field"),),
    ),
    Guard("treatments_incidentaddendum", update_when=_MORE_THAN_FORGOTTEN, keys=(("client_ref",),)),
)
