"""Sixty invented properties as the spreadsheet an invented firm would have.

Everything follows from `seed` and `today`: the same seed and day give the same bytes.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

COUNT = 60
HEADER = (
    "customer_name",
    "customer_kind",
    "contact_name",
    "phone",
    "email",
    "billing_address",
    "service_street",
    "service_city",
    "service_county",
    "service_state",
    "service_zip",
    "latitude",
    "longitude",
    "zone_name",
    "zone_place",
    "wall_run_ft",
    "height_up_ft",
    "width_out_ft",
    "surface",
    "exposure",
    "last_product",
    "last_residual_days",
    "last_applied_on",
    "last_applicator",
)
_FIRST = [
    "Nadia",
    "Greta",
    "Petr",
    "Ngozi",
    "Femi",
    "Tamsin",
    "Imke",
    "Rosalind",
    "Tariq",
    "Lucille",
    "Anselm",
    "Bettina",
    "Corwin",
    "Delphine",
    "Evander",
    "Fiona",
    "Gideon",
    "Hester",
    "Ivo",
    "Juniper",
    "Kasimir",
    "Leocadia",
    "Magnus",
    "Nerys",
    "Orla",
    "Percival",
    "Quilla",
    "Rufus",
    "Saskia",
    "Thaddeus",
    "Undine",
    "Viggo",
    "Winifred",
    "Xavier",
    "Ysolde",
    "Zebulon",
]
_LAST = [
    "Castellane",
    "Kessler",
    "Novarik",
    "Ibekwe",
    "Odunaya",
    "Hollowell",
    "Brandtner",
    "Vextra",
    "Quennell",
    "Ashgrove",
    "Ferrowby",
    "Lindholt",
    "Marchbanks",
    "Tolliver",
    "Wexcombe",
    "Pellworth",
    "Dunmarrow",
    "Ostrander",
]
_STREETS = [
    "Heron Lane",
    "Quarry Steps",
    "Ferry Landing",
    "Orchard Road",
    "Mill Race",
    "Tannery Row",
    "Chapel Fold",
    "Saltmarsh Way",
    "Alder Rise",
    "Sluice Street",
    "Lantern Hill",
    "Copper Kettle Road",
    "Bramble Court",
    "Weavers Yard",
    "Fallow Lane",
    "Osprey Bend",
]


@dataclass(frozen=True)
class Town:
    """An invented town with its county, state, ZIP code and position."""

    name: str
    county: str
    state: str
    zip_code: str
    latitude: float
    longitude: float


TOWNS = (
    Town("Harrowgate", "Ferris", "OH", "00411", 40.36, -82.71),
    Town("Pellbrook", "Ferris", "OH", "00412", 40.40, -82.66),
    Town("Oldmill Crossing", "Ferris", "OH", "00413", 40.31, -82.75),
    Town("Quillhaven", "Larch", "PA", "00421", 40.91, -78.22),
    Town("Tarn Hollow", "Larch", "PA", "00422", 40.95, -78.27),
)
# name, place, run ft, up ft, out ft, surface, exposure, product as the sheet has it, claim days
_BAND = ("Foundation band", "foundation_wall", "3", "3", "porous_masonry", "sun")
_EAVE = ("Eave line", "eave_soffit", "0", "1", "painted", "sheltered")
_ENTRY = ("Entry points", "entry_point", "0", "0", "metal_glass", "shaded")
_KITCHEN = ("Kitchen cracks", "crack_crevice", "0", "0", "painted", "sheltered")
_MULCH = ("Mulch beds", "soil_band", "0", "4", "soil_mulch", "shaded")
_CLAIMS = {
    "Foundation band": ("A SC", 90),
    "Eave line": ("A SC", 90),
    "Entry points": ("F crevice spray", 60),
    "Kitchen cracks": ("B gel", 30),
    "Mulch beds": ("D G", 60),
}


class Dice:
    """A small linear congruential generator: the demonstration must be the same everywhere."""

    def __init__(self, seed: int) -> None:
        self._state = seed % 2**32

    def roll(self, sides: int) -> int:
        """Return a whole number from 0 to `sides` - 1."""
        self._state = (1664525 * self._state + 1013904223) % 2**32
        return (self._state >> 8) * sides >> 24


@dataclass(frozen=True)
class Household:
    """One customer with one service address."""

    name: str
    kind: str
    contact: str
    street: str
    town: Town
    zones: tuple[tuple[str, str, str, str, str, str], ...]


SPECIAL = (
    Household(
        "Harrow Mill Bakery",
        "commercial",
        "Corwin Tolliver",
        "9 Ferry Landing",
        TOWNS[0],
        (_BAND, _KITCHEN, _ENTRY),
    ),
    Household(
        "Pellbrook Elementary School",
        "commercial",
        "Hester Marchbanks",
        "40 Mill Race",
        TOWNS[1],
        (_BAND, _ENTRY),
    ),
    Household(
        "Fallow Lane Dairy",
        "commercial",
        "Gideon Ferrowby",
        "3 Fallow Lane",
        TOWNS[2],
        (_BAND, _EAVE, _ENTRY),
    ),
    Household(
        "Nadia Castellane",
        "residential",
        "Nadia Castellane",
        "14 Heron Lane",
        TOWNS[1],
        (_BAND, _EAVE, _ENTRY, _MULCH),
    ),
    Household(
        "Tarn Hollow Lake Cottage",
        "residential",
        "Ysolde Wexcombe",
        "1 Osprey Bend",
        TOWNS[4],
        (_BAND, _EAVE, _ENTRY),
    ),
)


def households(seed: int) -> tuple[Household, ...]:
    """Return the sixty customers: five with a story and fifty-five of the dice."""
    dice = Dice(seed)
    return (*SPECIAL, *(_household(dice, n) for n in range(COUNT - len(SPECIAL))))


def _household(dice: Dice, n: int) -> Household:
    name = f"{_FIRST[n % len(_FIRST)]} {_LAST[(n * 7 + n // len(_FIRST)) % len(_LAST)]}"
    street = f"{12 + 7 * n} {_STREETS[dice.roll(len(_STREETS))]}"
    zones = (_BAND, *(zone for zone in (_EAVE, _ENTRY, _MULCH) if dice.roll(2)))
    return Household(name, "residential", name, street, TOWNS[n % len(TOWNS)], zones)


def spreadsheet(*, seed: int, today: date) -> bytes:
    """Return the firm's spreadsheet as UTF-8 CSV with the columns of `HEADER`."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADER)
    dice = Dice(seed + 1)
    for number, household in enumerate(households(seed)):
        writer.writerows(_rows(household, number, dice, today))
    return text.getvalue().encode()


def _rows(household: Household, number: int, dice: Dice, today: date) -> Iterator[tuple[str, ...]]:
    run = 120 + 4 * dice.roll(30)
    treated_on = today - timedelta(days=5 + dice.roll(80))
    position = (
        f"{household.town.latitude + (dice.roll(80) - 40) / 1000:.4f}",
        f"{household.town.longitude + (dice.roll(80) - 40) / 1000:.4f}",
    )
    for zone in household.zones:
        yield (
            *_who(household, number),
            *position,
            *_zone(zone, run),
            *_last(zone[0], number, treated_on),
        )


def _who(household: Household, number: int) -> tuple[str, ...]:
    area_code = "614" if household.town.state == "OH" else "814"
    mail = f"{household.contact.lower().replace(' ', '.')}.{number}@demo.example"
    town = household.town
    address = f"{household.street}, {town.name}, {town.state} {town.zip_code}"
    return (
        household.name,
        household.kind,
        household.contact,
        f"({area_code}) 555-0{120 + number}",
        mail,
        address,
        household.street,
        town.name,
        town.county,
        town.state,
        town.zip_code,
    )


def _zone(zone: tuple[str, str, str, str, str, str], run: int) -> tuple[str, ...]:
    name, place, up, out, surface, exposure = zone
    length = {"Entry points": run // 8, "Kitchen cracks": 60, "Mulch beds": run // 2}.get(name, run)
    return (name, place, str(length), up, out, surface, exposure)


def _last(zone: str, number: int, treated_on: date) -> tuple[str, str, str, str]:
    """The last treatment as written; every ninth customer is new and has none."""
    if number % 9 == 8:
        return ("", "", "", "")
    product, days = _CLAIMS[zone]
    applicator = "" if number % 11 == 5 else "R. Okafor"
    return (f"Demonstration {product}", str(days), treated_on.isoformat(), applicator)
