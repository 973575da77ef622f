"""When a record was written, by the clock of a device that may be wrong.

The device's own time stays as it was sent. Its clock was measured against ours at the last contact
before the record was saved and again when it was sent: the first one corrects it. What cannot be
true is named, and the record then counts as written when it arrived. Five minutes are borne (house
rule), and two seconds between the clocks, since a skew is a whole number of seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from accounts.refusals import Refused

MOST_APART = timedelta(minutes=5)
ROUNDED = timedelta(seconds=2)


@dataclass(frozen=True)
class Written:
    """When a record was written, and what about the device's clock cannot be true."""

    at: datetime
    doubts: tuple[str, ...] = ()


def device_moment(text: str) -> datetime:
    """The device's time as it was sent; refused when it is no time with a time zone."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError as failure:
        raise Refused("time", "The device's time cannot be read. Send the record again.") from (
            failure
        )
    if at.tzinfo is None or not 2000 <= at.year <= 2999:
        raise Refused("time", "The device's time has no time zone or year. Send it again.")
    return at


def written(
    device_time: str,
    skew_s: int | None,
    sent_skew_s: int | None,
    *,
    finished_at: datetime,
    received_at: datetime,
) -> Written:
    """When a record was written: the device's time less the skew measured before it was saved.

    A skew counts what the device is ahead, in seconds. Without the device's time, or a skew
    measured at all, it is the time of arrival. In doubt are skews more than five minutes apart, a
    time after the arrival, and one more than five minutes before the end of the work.
    """
    skew = sent_skew_s if skew_s is None else skew_s
    if not device_time or skew is None:
        return Written(received_at)
    at = device_moment(device_time) - timedelta(seconds=skew)
    apart = timedelta(seconds=abs(skew - (skew if sent_skew_s is None else sent_skew_s)))
    doubts = []
    if apart > MOST_APART:
        minutes = int(apart.total_seconds() // 60)
        doubts.append(f"its clock moved by {minutes} minutes between writing and sending")
    if at > received_at + ROUNDED:
        doubts.append("by its clock it was written after it arrived")
    if at < finished_at - MOST_APART:
        doubts.append("by its clock it was written before the work was over")
    return Written(received_at if doubts else min(at, received_at), tuple(doubts))
