"""Rain soon after a treatment outside: a follow-up is suggested, no window is changed."""

from __future__ import annotations

from datetime import date, timedelta

from accounts.services.audit import open_item_once
from scheduling.models import TemperatureReading
from scheduling.rules.day_words import full_day
from treatments.selectors.windows import treated_outside

RAIN_AFTER = "rain_after_treatment"
DAYS_BACK = 14  # readings come late; house rule: older rain is no news
LEAST_MM = 1  # house rule: less is a trace


def watch_rain(*, today: date) -> int:
    """Open an item for each treatment outside with rain on its day or the next; how many.

    A reading knows the day and not the hour: the day of the treatment and the one after are what
    lies within 24 hours. Once a record; trade press tells of technicians noting such rain so that
    the office can offer a follow-up (pctonline.com, June 2022, read).
    """
    since = today - timedelta(days=DAYS_BACK)
    rows = TemperatureReading.objects.filter(day__gte=since, rain_mm__gte=LEAST_MM)
    rain = {(one.branch_id, one.day): one.rain_mm for one in rows}
    if not rain:
        return 0
    found = 0
    for record, zones in treated_outside(since - timedelta(days=1), today):
        days = (record.applied_on, record.applied_on + timedelta(days=1))
        wet = [day for day in days if (record.branch_id, day) in rain]
        if wet:
            mm = rain[record.branch_id, wet[0]]
            open_item_once(
                branch_id=record.branch_id,
                code=RAIN_AFTER,
                thing=record,
                sentence=f"{mm} mm of rain on {full_day(wet[0])}, within a day of record "
                f"{record.pk} ({', '.join(zones)}). What was put down may be gone: consider a "
                "follow-up, not before the label allows the return. No window was changed.",
            )
            found += 1
    return found
