"""Check A14: one technician in two places at once, or faster from one to the next than a road.

An end before its start is refused when it is recorded.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from math import asin, cos, radians, sin, sqrt
from operator import attrgetter

from treatments.rules.audit.facts import Job

MOST_MPH = 90  # as the crow flies between two properties; no road is as straight (house rule)
EARTH_MILES = 3958.8  # mean radius of 6,371.0 km (common practice, no source) by 1.609344
NEAR_MILES = 1.0  # positions are entered by hand; nearer ones say nothing (house rule)


def impossible(jobs: Iterable[Job]) -> dict[int, str]:
    """The sentence of each job that cannot be, by the key of its entry, of any people's jobs."""
    found: dict[int, str] = {}
    last: dict[int, Job] = {}
    for job in sorted(jobs, key=attrgetter("started_at", "finished_at", "pk")):
        before = last.get(job.person_id)
        if before is not None and before.property_id != job.property_id:
            sentence = _wrong(before, job)
            if sentence:
                found[job.pk] = sentence
        # who is still at the longer job has not left it for the shorter one inside it
        if before is None or job.finished_at >= before.finished_at:
            last[job.person_id] = job
    return found


def _wrong(before: Job, job: Job) -> str:
    if job.started_at < before.finished_at:
        return (
            f"It overlaps with record {before.pk} of the same technician at another property. "
            "Correct the times of one."
        )
    miles, left = _miles(before, job), job.started_at - before.finished_at
    if miles is None or miles <= NEAR_MILES or left >= timedelta(hours=miles / MOST_MPH):
        return ""
    minutes = int(left.total_seconds() // 60)
    return (
        f"It starts {minutes} min after record {before.pk} ended, {miles:.0f} miles away. "
        "Correct the times of one."
    )


def _miles(one: Job, other: Job) -> float | None:
    """Distance over a sphere by the haversine formula; None where a position is not known."""
    if one.latitude is None or one.longitude is None:
        return None
    if other.latitude is None or other.longitude is None:
        return None
    lat_a, lat_b = radians(float(one.latitude)), radians(float(other.latitude))
    half_lon = radians(float(other.longitude) - float(one.longitude)) / 2
    half = sin((lat_b - lat_a) / 2) ** 2 + cos(lat_a) * cos(lat_b) * sin(half_lon) ** 2
    return 2 * EARTH_MILES * asin(min(1.0, sqrt(half)))
