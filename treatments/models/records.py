"""What was put down: append-only records, what was treated, how it was judged.

No column of a guarded table is filled in later: a gap is completed by an addendum, a wrong value
by a correction, both whole new rows that name the entry whose place they take. Personal values
stand beside the record, salted, so that they can be erased after retention while the log still
verifies.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from accounts.append_only import Guard
from accounts.stamps import Stamped


class RecordQuerySet(models.QuerySet["ApplicationRecord"]):
    """Entries by whether something follows them: an anti-join over the few that follow."""

    def standing(self) -> RecordQuerySet:
        """The last entry of every record, also of one that was voided."""
        return self.filter(~Exists(ApplicationRecord.objects.filter(corrects=OuterRef("pk"))))

    def effective(self) -> RecordQuerySet:
        """What counts: the last entry of every record that was not voided."""
        return self.standing().exclude(entry=ApplicationRecord.Entry.VOID)


class ApplicationRecord(Stamped):
    """One product put down once at one property, frozen as it was that day."""

    class Entry(models.TextChoices):
        RECORD = "record", "Record"
        ADDENDUM = "addendum", "Addendum"
        CORRECTION = "correction", "Correction"
        VOID = "void", "Void"

    client_ref = models.UUIDField(unique=True)
    client_digest = models.CharField(max_length=64)
    entry = models.CharField(max_length=10, choices=Entry, default=Entry.RECORD)
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="later_entries"
    )
    correction_reason = models.TextField(blank=True)
    approved_by = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    is_one_person_firm = models.BooleanField(default=False)
    branch = models.ForeignKey("accounts.Branch", on_delete=models.PROTECT, related_name="+")
    branch_name = models.CharField(max_length=120)
    business_address = models.CharField(max_length=300, blank=True)
    business_phone = models.CharField(max_length=20, blank=True)
    business_license_number = models.CharField(max_length=60, blank=True)
    property = models.ForeignKey("sites.Property", on_delete=models.PROTECT, related_name="+")
    city = models.CharField(max_length=100)
    county = models.CharField(max_length=100, blank=True)
    state = models.CharField(max_length=2)
    zip_code = models.CharField(max_length=10)
    visit_ref = models.CharField(max_length=40, blank=True)
    load_ref = models.CharField(max_length=40, blank=True)

    applicator = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, related_name="+")
    license_number = models.CharField(max_length=40, blank=True)
    license_kind = models.CharField(max_length=24, blank=True)
    license_expires_on = models.DateField(null=True, blank=True)
    supervisor_license_number = models.CharField(max_length=40, blank=True)
    supervisor_category = models.CharField(max_length=200, blank=True)

    label_version = models.ForeignKey(
        "treatments.LabelVersion", on_delete=models.PROTECT, null=True, related_name="+"
    )
    label_use = models.ForeignKey(
        "treatments.LabelUse", on_delete=models.PROTECT, null=True, related_name="+"
    )
    product_name = models.CharField(max_length=120, blank=True)
    registration_kind = models.CharField(max_length=16, blank=True)
    registration_number = models.CharField(max_length=40, blank=True)
    ingredients = models.JSONField(default=list)
    is_restricted_use = models.BooleanField(default=False)
    method = models.CharField(max_length=16)
    work_kinds = models.JSONField(default=list)
    pests = models.JSONField(default=list)
    equipment = models.CharField(max_length=80, blank=True)

    product_amount = models.CharField(max_length=20, blank=True)
    product_unit = models.CharField(max_length=8, blank=True)
    product_ul = models.BigIntegerField(null=True)
    product_mg = models.BigIntegerField(null=True)
    finished_amount = models.CharField(max_length=20, blank=True)
    finished_unit = models.CharField(max_length=8, blank=True)
    finished_ul = models.BigIntegerField(null=True)
    mix_basis = models.CharField(max_length=16, blank=True)
    rate_applied = models.CharField(max_length=60, blank=True)
    percent_active = models.CharField(max_length=20, blank=True)
    product_supplier = models.CharField(max_length=120, blank=True)
    area_mm2 = models.BigIntegerField(default=0)
    length_mm = models.BigIntegerField(default=0)

    applied_on = models.DateField()
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField()
    device_time = models.CharField(max_length=40, blank=True)
    device_skew_s = models.IntegerField(null=True)
    sent_skew_s = models.IntegerField(null=True)
    completed_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()
    wind_mph = models.CharField(max_length=10, blank=True)
    temperature_f = models.CharField(max_length=10, blank=True)
    wind_direction = models.CharField(max_length=3, blank=True)
    conditions = models.CharField(max_length=80, blank=True)
    weather_source = models.CharField(max_length=80, blank=True)
    reentry_text = models.TextField(blank=True)
    reentry_until = models.DateTimeField(null=True)
    protective_equipment_confirmed = models.BooleanField(default=False)
    profile_codes = models.JSONField(default=list)
    complete_by = models.DateTimeField(null=True)
    retain_until = models.DateField()

    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ("-applied_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(finished_at__gte=models.F("started_at")), name="record_ends_after_start"
            ),
            models.CheckConstraint(
                condition=Q(entry="record", corrects__isnull=True)
                | (~Q(entry="record") & Q(corrects__isnull=False)),
                name="record_entry_names_what_it_follows",
            ),
            models.UniqueConstraint(
                fields=["corrects"],
                condition=Q(corrects__isnull=False),
                name="entry_is_followed_once",
            ),
            models.CheckConstraint(
                condition=Q(entry__in=("record", "addendum"), approved_by__isnull=True)
                | (Q(entry__in=("correction", "void")) & Q(approved_by__isnull=False)),
                name="correction_is_approved",
            ),
            models.CheckConstraint(
                condition=Q(approved_by__isnull=True)
                | Q(is_one_person_firm=True)
                | ~Q(approved_by=models.F("created_by")),
                name="correction_has_a_second_person",
            ),
        )
        indexes = (
            models.Index(fields=["property", "applied_on"], name="record_property_day"),
            models.Index(fields=["branch", "applied_on"], name="record_branch_day"),
        )

    def __str__(self) -> str:
        return f"Record {self.pk}: {self.product_name or self.method} on {self.applied_on}"

    def get_absolute_url(self) -> str:
        return reverse("record", args=[self.pk])


class TreatedArea(models.Model):
    """One zone of a record, with the size that was treated, as entered and canonical."""

    record = models.ForeignKey(
        ApplicationRecord, on_delete=models.PROTECT, related_name="treated_areas"
    )
    zone = models.ForeignKey("sites.TreatableZone", on_delete=models.PROTECT, related_name="+")
    zone_name = models.CharField(max_length=80)
    place = models.CharField(max_length=24)
    size = models.CharField(max_length=20)
    size_unit = models.CharField(max_length=8)
    area_mm2 = models.BigIntegerField(default=0)
    length_mm = models.BigIntegerField(default=0)
    height_up_mm = models.BigIntegerField(default=0)
    width_out_mm = models.BigIntegerField(default=0)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["record", "zone"], name="zone_once_a_record"),
        )
        indexes = (models.Index(fields=["zone"], name="treated_zone"),)

    def __str__(self) -> str:
        return f"{self.zone_name}, {self.size} {self.size_unit}"


class TreatedRun(models.Model):
    """One wall run of a treated zone as it was that day: treated, or left out with the reason."""

    area = models.ForeignKey(TreatedArea, on_delete=models.PROTECT, related_name="runs")
    name = models.CharField(max_length=60)
    length = models.CharField(max_length=20)
    unit = models.CharField(max_length=8)
    length_mm = models.BigIntegerField()
    reason = models.CharField(max_length=12, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["area", "name"], name="run_once_a_treated_area"),
        )

    def __str__(self) -> str:
        return self.name


class ApplicationJudgement(models.Model):
    """What the label, the license and the customer's wishes said about a record."""

    record = models.ForeignKey(
        ApplicationRecord, on_delete=models.PROTECT, related_name="judgements"
    )
    code = models.CharField(max_length=40)
    severity = models.CharField(max_length=12)
    sentence = models.TextField()
    clause = models.CharField(max_length=200)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.sentence


class RecordPersonalValue(models.Model):
    """A personal value of a record and the salt of its digest in the log leaf.

    Name and address of the customer, names of applicator and supervisor, notes, signature.
    """

    record = models.ForeignKey(
        ApplicationRecord, on_delete=models.PROTECT, related_name="personal_values"
    )
    field = models.CharField(max_length=40)
    value = models.TextField()
    salt = models.BinaryField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["record", "field"], name="personal_value_once"),
        )

    def __str__(self) -> str:
        return f"{self.field} of record {self.record_id}"


class RetentionHold(Stamped):
    """A complaint, claim, inspection or open incident that keeps a record beyond its retention.

    Released once, with a reason, and never changed otherwise. One with an `incident` is released
    when that incident is closed.
    """

    record = models.ForeignKey(ApplicationRecord, on_delete=models.PROTECT, related_name="holds")
    incident = models.ForeignKey(
        "treatments.Incident", on_delete=models.PROTECT, null=True, related_name="holds"
    )
    reason = models.CharField(max_length=200)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, related_name="+"
    )
    release_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(
                fields=["record", "incident"],
                condition=Q(released_at__isnull=True, incident__isnull=False),
                name="incident_holds_once",
            ),
        )

    def __str__(self) -> str:
        return self.reason


class CorrectionRequest(Stamped):
    """A correction somebody asks for: without effect until a second person approves it.

    `together_with` is the request for the other product of the same tank: both are decided at once.
    """

    class State(models.TextChoices):
        ASKED = "asked", "Asked for"
        APPROVED = "approved", "Approved"
        DECLINED = "declined", "Declined"

    class Kind(models.TextChoices):
        CORRECTION = "correction", "Correction"
        VOID = "void", "Void"

    kind = models.CharField(max_length=10, choices=Kind, default=Kind.CORRECTION)
    record = models.ForeignKey(
        ApplicationRecord, on_delete=models.PROTECT, related_name="correction_requests"
    )
    together_with = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="others"
    )
    changes = models.JSONField(default=list)
    reason = models.TextField()
    state = models.CharField(max_length=10, choices=State, default=State.ASKED)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        "accounts.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    declined_reason = models.TextField(blank=True)

    class Meta:
        ordering = ("created_at", "pk")

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of record {self.record_id}: {self.reason}"

    def get_absolute_url(self) -> str:
        return reverse("correction", args=[self.together_with_id or self.pk])


_STILL_KEPT = (
    "EXISTS (SELECT 1 FROM treatments_applicationrecord r WHERE r.id = OLD.record_id "
    "AND r.retain_until >= CURRENT_DATE) OR EXISTS (SELECT 1 FROM treatments_retentionhold h "
    "WHERE h.record_id = OLD.record_id AND h.released_at IS NULL)"
)
_MORE_THAN_RELEASED = (
    "OLD.released_at IS NOT NULL OR NEW.released_at IS NULL OR NEW.id <> OLD.id "
    "OR NEW.record_id <> OLD.record_id OR NEW.reason <> OLD.reason "
    "OR NEW.created_at <> OLD.created_at"
)
# a void is the end of a record: what was done after all is recorded anew
_FOLLOWS_A_VOID = (
    "EXISTS (SELECT 1 FROM treatments_applicationrecord r "
    "WHERE r.id = NEW.corrects_id AND r.entry = 'void')"
)
GUARDS = (
    Guard("treatments_retentionhold", update_when=_MORE_THAN_RELEASED),
    Guard(
        "treatments_applicationrecord",
        insert_when=_FOLLOWS_A_VOID,
        keys=(("client_ref",), ("corrects_id",)),
    ),
    Guard("treatments_treatedarea", keys=(("record_id", "zone_id"),)),
    Guard("treatments_treatedrun", keys=(("area_id", "name"),)),
    Guard("treatments_applicationjudgement"),
    Guard(
        "treatments_recordpersonalvalue",
        delete_when=_STILL_KEPT,
        keys=(("record_id", "field"),),
    ),
)
