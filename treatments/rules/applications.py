"""What is said of one application, as entered, and what can only be a slip of the pen.

What was done is recorded even where the label was not followed; only what cannot be true is
refused, so that no record holds it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from typing import Any
from uuid import UUID

from accounts.refusals import Refused
from sites.rules.measurements import ZoneMeasure
from sites.rules.places import Geometry
from sites.rules.units import Amount, canonical, kind_of, parse_amount, plain, unit_word
from treatments.rules.device_times import device_moment
from treatments.rules.other_work import refuse_work
from treatments.rules.products import Method
from treatments.rules.questions import LONGEST_ANSWER
from treatments.rules.rodent_questions import refuse_amounts
from treatments.rules.safety_questions import refuse_answers

CLOCKS_DIFFER = timedelta(minutes=5)  # house rule; DEVELOPERS.md, "Three times"
LARGEST_SKEW_S = 10 * 366 * 24 * 3600
MOST = Decimal(100_000)
LONGEST_AMOUNT = 20
SIZE_KINDS: dict[Geometry, tuple[str, ...]] = {
    Geometry.BAND: ("length", "area"),
    Geometry.LINEAR: ("length",),
    Geometry.SURFACE: ("area", "length"),
    Geometry.VOLUME: ("space",),
    Geometry.COUNT: ("count",),
}
LONGEST = {
    "equipment": 80,
    "visit_ref": 40,
    "load_ref": 40,
    "lot_number": 60,
    "device_time": 40,
    "notes": 4000,
    "participants": 300,
    "mixing_location": 200,
    "location_detail": 300,
    "product_supplier": 120,
    "customer_phone": 40,
}
# what records had not before the rules of the states asked for it
ASKED_LATER = (
    *("participants", "mixing_location", "location_detail"),
    *("product_supplier", "customer_phone"),
)
SAID_LATER = ("supervisor_id", "more_follows", "lot_number")
OF_OTHER_WORK = ("work_kinds", "work_done")
COMPASS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)


@dataclass(frozen=True)
class Entered:
    """An amount exactly as typed, with one of the units of `sites.rules.units`."""

    text: str
    unit: str


@dataclass(frozen=True)
class TreatedZone:
    """One zone that was treated; without a size it was the whole zone as measured.

    `left_out` are keys of the wall runs that were not treated, each with its reason; `rest` is why
    a zone without runs was treated only as far as `size`.
    """

    zone_id: int
    size: Entered | None = None
    left_out: tuple[tuple[int, str], ...] = ()
    rest: str = ""


@dataclass(frozen=True)
class Weather:
    """Wind in mph and temperature in °F as read, and the instrument or source; may be empty.

    `wind_direction` is where it comes from, one of the sixteen points; `conditions` sky and rain.
    """

    wind_mph: str = ""
    temperature_f: str = ""
    source: str = ""
    wind_direction: str = ""
    conditions: str = ""


@dataclass(frozen=True)
class Application:
    """One product put down once at one property, or work without a product.

    `client_ref` is minted where the record is written and names it for good; times carry their
    zone; `device_skew_s` is how far the device's clock was ahead, in seconds, at the last contact
    before it was written, `sent_skew_s` when it was sent; `answers` are code and
    answer of the safety questions; `work_kinds` and `work_done` say work without a product;
    `supervisor_id` the certified applicator named for this work, else that of the license;
    `more_follows` that another load of the same follows at the visit; `lot_number` is the lot it
    was taken from, where who did the work said which.
    """

    client_ref: UUID
    property_id: int
    applicator_id: int
    zones: tuple[TreatedZone, ...]
    method: str
    started_at: datetime
    finished_at: datetime
    label_use_id: int | None = None
    pest_ids: tuple[int, ...] = ()
    product_amount: Entered | None = None
    finished_amount: Entered | None = None
    visit_ref: str = ""
    load_ref: str = ""
    equipment: str = ""
    weather: Weather = Weather()
    notes: str = ""
    protective_equipment_confirmed: bool = False
    device_time: str = ""
    device_skew_s: int | None = None
    sent_skew_s: int | None = None
    answers: tuple[tuple[str, str], ...] = ()
    participants: str = ""
    mixing_location: str = ""
    location_detail: str = ""
    product_supplier: str = ""
    customer_phone: str = ""
    work_kinds: tuple[str, ...] = ()
    work_done: str = ""
    supervisor_id: int | None = None
    more_follows: bool = False
    lot_number: str = ""


@dataclass(frozen=True)
class HistoricRow:
    """A last treatment as a spreadsheet says it; what is missing stays missing."""

    zone_id: int
    product: str
    applicator: str
    applied_on: date
    residual_days: int | None


@dataclass(frozen=True)
class TreatedSize:
    """How much of a zone was treated: as entered, and in whole mm2 and mm."""

    size: str
    unit: str
    area: Amount
    area_mm2: int
    length_mm: int


def digest_of(application: Application) -> str:
    """Hex of the SHA-256 of everything entered; the measured clock skew is not part of it.

    The same record sent again later may carry another skew and is still the same record.
    """
    content = asdict(application)
    del content["device_skew_s"], content["sent_skew_s"]
    if not application.answers:
        del content["answers"]  # so that records from before the questions keep their digest
    _leave_out_empty(content, (*ASKED_LATER, *OF_OTHER_WORK, *SAID_LATER))
    for zone in content["zones"]:
        _leave_out_empty(zone, ("left_out", "rest"))
    _leave_out_empty(content["weather"], ("wind_direction", "conditions"))
    text = json.dumps(content, sort_keys=True, default=str, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()


def _leave_out_empty(content: dict[str, Any], names: tuple[str, ...]) -> None:
    """What came later says nothing while empty, so that older records keep their digest."""
    for name in names:
        if not content[name]:
            del content[name]


def refuse_nonsense(application: Application, *, now: datetime) -> None:
    """Refuse what cannot be true: times, method, zones, weather, texts, an amount of nothing."""
    _refuse_times(application, now)
    _refuse_texts(application)
    _refuse_weather(application.weather)
    refuse_answers(application.answers)
    refuse_amounts(application.answers)
    if application.method not in list(Method):
        raise Refused("method", "The method is missing. Choose how the work was done.")
    _refuse_zones([zone.zone_id for zone in application.zones])
    if application.method == Method.NO_PRODUCT:
        refuse_work(
            application.work_kinds,
            application.work_done,
            has_product=application.label_use_id is not None,
        )
    amounts = (application.product_amount, application.finished_amount)
    if application.label_use_id is None and any(amounts):
        raise Refused(
            "product_missing", "An amount was given without a product. Choose the product."
        )


def _refuse_times(application: Application, now: datetime) -> None:
    start, finish = application.started_at, application.finished_at
    if start.tzinfo is None or finish.tzinfo is None:
        raise Refused("time", "The times have no time zone. Send them with one.")
    if finish < start:
        raise Refused("time", "The work ends before it starts. Correct one of the times.")
    if finish > now + CLOCKS_DIFFER:
        raise Refused("time", "The work ends in the future. Record it when it is done.")
    if finish - start > timedelta(hours=24):
        raise Refused("time", "The work takes longer than a day. Record each day by itself.")
    skews = (application.device_skew_s, application.sent_skew_s)
    if any(abs(skew or 0) > LARGEST_SKEW_S for skew in skews):
        raise Refused("time", "The clock of the device is years off. Set it and send again.")
    if application.device_time:
        device_moment(application.device_time)


def _refuse_texts(application: Application) -> None:
    texts = [(field, getattr(application, field), most) for field, most in LONGEST.items()]
    texts += [("text of the work", application.work_done, 4000)]
    texts += [("answer", answer, LONGEST_ANSWER) for _, answer in application.answers]
    weather = application.weather
    texts += [("weather source", weather.source, 80), ("conditions", weather.conditions, 80)]
    for field, text, most in texts:
        name = field.replace("_", " ")
        if len(text) > most:
            raise Refused("text", f"The {name} is too long: at most {most} characters.")
        if any(_is_unprintable(sign) for sign in text):
            raise Refused("text", f"The {name} has a character that cannot be printed.")


def _is_unprintable(sign: str) -> bool:
    control = ord(sign) < 32 and sign not in "\n\r\t"
    return control or 0xD800 <= ord(sign) <= 0xDFFF


def _refuse_weather(weather: Weather) -> None:
    if weather.wind_direction and weather.wind_direction not in COMPASS:
        raise Refused("weather", "The wind comes from one of sixteen points. Choose N, NNE and so.")
    for name, text, low, high in (
        ("wind", weather.wind_mph, 0, 200),
        ("temperature", weather.temperature_f, -80, 150),
    ):
        if text and not low <= _reading(name, text) <= high:
            raise Refused("weather", f"A {name} of {text[:10]} is not possible. Read it again.")


def _reading(name: str, text: str) -> Decimal:
    digits = text.removeprefix("-")
    if len(text) > 6 or not digits.isascii() or not digits.replace(".", "", 1).isdecimal():
        raise Refused("weather", f"The {name} {text[:10]!r} is not a number like 8 or 71.5.")
    return Decimal(text)


def reading(text: str) -> Decimal | None:
    """A weather reading that was accepted; None when nothing was measured."""
    return Decimal(text) if text else None


def _refuse_zones(zone_ids: list[int]) -> None:
    if not zone_ids:
        raise Refused("zones", "No zone was chosen. Choose what was treated.")
    if len(set(zone_ids)) < len(zone_ids):
        raise Refused("zones", "A zone was given twice. Each zone stands once in a record.")


def product_amount(entered: Entered | None, rate_unit: str) -> Amount | None:
    """The undiluted product, refused when its kind of unit is not that of the label's rate.

    `rate_unit` is the label's: an ounce by weight of a product measured by volume is refused.
    """
    if entered is None or not entered.text.strip():
        return None
    amount = _parsed(entered)
    if not amount.value:
        raise Refused(
            "amount",
            "Nothing was used: 0. Put the amount that was applied, or end the stop not done.",
        )
    if amount.kind != kind_of(rate_unit):
        raise Refused(
            "unit",
            f"The label measures this product by {kind_of(rate_unit)} "
            f"({unit_word(rate_unit)}), not in {unit_word(entered.unit)}.",
        )
    return amount


def finished_amount(entered: Entered | None) -> Amount | None:
    """The finished spray put out; refused unless it is a volume."""
    if entered is None or not entered.text.strip():
        return None
    amount = _parsed(entered)
    if amount.kind != "volume":
        raise Refused("unit", "Finished spray is a volume. Give it in gallons or fluid ounces.")
    return amount


def _parsed(entered: Entered) -> Amount:
    if len(entered.text.strip()) > LONGEST_AMOUNT:
        raise Refused("amount", f"{entered.text.strip()[:20]}… is too long for an amount.")
    return parse_amount(entered.text, entered.unit, at_most=MOST)


def treated_size(measure: ZoneMeasure, entered: Entered | None) -> TreatedSize:
    """How much of a measured zone was treated.

    Without `entered` all of it. A band takes a length (of its own height and width) or an area,
    a length a length, a space cubic units, places a count; any other kind is refused.
    """
    if entered is None:
        return _sized(measure, measure.size)
    amount = _parsed(entered)
    if amount.kind not in SIZE_KINDS[measure.geometry]:
        kinds = " or ".join(SIZE_KINDS[measure.geometry])
        raise Refused("unit", f"The size of this zone is a {kinds}, not {amount}.")
    if amount.value == 0:
        raise Refused("size", "A treated size of zero is not treated. Leave the zone out.")
    part = _part(measure, amount) if amount.kind == "length" else measure
    return _sized(part, amount)


def _part(measure: ZoneMeasure, run: Amount) -> ZoneMeasure:
    return replace(measure, wall_run=run.to(measure.unit).value)


def _sized(measure: ZoneMeasure, size: Amount) -> TreatedSize:
    area = size if size.kind == "area" else measure.area
    along = measure.geometry in (Geometry.BAND, Geometry.LINEAR)
    whole = size.kind == "length" or size == measure.size
    run = Amount(measure.wall_run, measure.unit)
    return TreatedSize(
        plain(size.value),
        size.unit,
        area,
        canonical(area.value, area.unit),
        canonical(run.value, run.unit) if along and whole else 0,
    )


def refuse_apart(applications: Sequence[Application]) -> None:
    """Refuse records that are not of one spray: another load, place, time or volume."""
    sprays = {
        (
            *(one.load_ref, one.property_id, one.visit_ref, one.zones, one.finished_amount),
            *(one.method, one.started_at, one.finished_at),
        )
        for one in applications
    }
    if len(sprays) > 1 or not all(one.load_ref for one in applications):
        raise Refused(
            "tank_apart",
            "These records are not of one load on the same zones at the same time. "
            "Record each by itself.",
        )
