"""Who works when, and in what order: shifts, time off, routes."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from accounts.stamps import Stamped
from scheduling.models.visits import Visit

WEEKDAYS = (
    (0, "Monday"),
    (1, "Tuesday"),
    (2, "Wednesday"),
    (3, "Thursday"),
    (4, "Friday"),
    (5, "Saturday"),
    (6, "Sunday"),
)


class Shift(Stamped):
    """A technician's hours on one day of the week, with the lunch that must be kept."""

    technician = models.ForeignKey("accounts.Person", on_delete=models.CASCADE, related_name="+")
    weekday = models.PositiveSmallIntegerField(choices=WEEKDAYS)
    starts = models.TimeField(default="08:00")
    ends = models.TimeField(default="17:00")
    lunch_from = models.TimeField("Lunch starts from", default="11:30")
    lunch_until = models.TimeField("Lunch starts by", default="13:30")
    lunch_minutes = models.PositiveSmallIntegerField(default=30)

    class Meta:
        ordering = ("technician", "weekday")
        constraints = (
            models.UniqueConstraint(fields=["technician", "weekday"], name="shift_once_a_weekday"),
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="shift_has_length"),
            models.CheckConstraint(
                condition=Q(lunch_until__gte=F("lunch_from")), name="lunch_window_has_length"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.starts:%H:%M} to {self.ends:%H:%M}"


class TimeOff(Stamped):
    """Whole days on which a technician does not work."""

    technician = models.ForeignKey("accounts.Person", on_delete=models.CASCADE, related_name="+")
    starts_on = models.DateField()
    ends_on = models.DateField()
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("starts_on",)
        verbose_name_plural = "time off"
        constraints = (
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="time_off_has_length"
            ),
        )

    def __str__(self) -> str:
        return f"{self.starts_on} to {self.ends_on}"


class Route(Stamped):
    """The planned day of one technician."""

    technician = models.ForeignKey("accounts.Person", on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    planned_at = models.DateTimeField()
    drive_minutes = models.PositiveIntegerField(default=0)
    is_complete = models.BooleanField(default=True)

    class Meta:
        ordering = ("day", "technician")
        constraints = (
            models.UniqueConstraint(fields=["technician", "day"], name="route_once_a_day"),
        )

    def __str__(self) -> str:
        return f"{self.technician}, {self.day}"


class RouteStop(models.Model):
    """A visit's place in a route; its arrival is the visit's own `starts_at`."""

    route = models.ForeignKey(Route, on_delete=models.CASCADE, related_name="stops")
    visit = models.OneToOneField(Visit, on_delete=models.CASCADE, related_name="route_stop")
    position = models.PositiveSmallIntegerField()
    drive_minutes = models.PositiveIntegerField()

    class Meta:
        ordering = ("route", "position")
        constraints = (
            models.UniqueConstraint(fields=["route", "position"], name="stop_position_once"),
        )

    def __str__(self) -> str:
        return f"Stop {self.position}"
