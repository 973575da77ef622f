"""What customers are asked to prepare, what they did of it, and what they answered to a visit."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from accounts.stamps import Stamped
from scheduling.models.visits import Visit
from scheduling.rules.prep import ANSWER_WORDS, TREATMENT_WORDS
from sites.rules.places import choices


class PrepList(Stamped):
    """The firm's own items for one treatment, or more items of one property; one a line."""

    treatment = models.CharField(max_length=12, choices=choices(TREATMENT_WORDS), blank=True)
    property = models.ForeignKey(
        "sites.Property", on_delete=models.CASCADE, null=True, related_name="+"
    )
    lines = models.TextField(max_length=4000, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(treatment="") ^ Q(property__isnull=True), name="prep_list_of_one"
            ),
            models.UniqueConstraint(
                fields=["treatment"], condition=~Q(treatment=""), name="prep_list_a_treatment"
            ),
            models.UniqueConstraint(fields=["property"], name="prep_list_a_property"),
        )

    def __str__(self) -> str:
        return self.get_treatment_display() or f"property {self.property_id}"


class PrepMark(Stamped):
    """Whether one item was done before a visit, as it was said last and by whom."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="prep_marks")
    key = models.CharField(max_length=16)
    words = models.CharField(max_length=200)
    is_done = models.BooleanField()
    marked_at = models.DateTimeField()
    said_by = models.CharField(max_length=160)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["visit", "key"], name="prep_mark_once_an_item"),
        )

    def __str__(self) -> str:
        return f"{self.words}: {'done' if self.is_done else 'not done'}"


class VisitAnswer(Stamped):
    """What the customer answered to a promised visit; the last one counts."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="answers")
    answer = models.CharField(max_length=12, choices=choices(ANSWER_WORDS))
    words = models.CharField(max_length=300, blank=True)
    said_by = models.CharField(max_length=160)
    window_opens_at = models.DateTimeField()

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return self.get_answer_display()
