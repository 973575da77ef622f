"""The invented products and their invented labels.

Numbers 99999-1xx are demonstration numbers; rates are invented for the demonstration and are not
those of any product. Common names of active ingredients are real, so that groups make sense.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from scheduling.rules.demo.labels import (
    ALONE,
    DUST_PROTECTIONS,
    INSIDE_TITLE,
    OF_THE_WORK,
    OUTSIDE_TITLE,
    PYRETHROID_LIMITS,
    SPACE_PROTECTIONS,
    WITHIN_A_DAY,
    DemoDirection,
    DemoLimit,
    DemoPest,
    DemoProduct,
)
from sites.rules.places import PestGroup, Place
from treatments.rules.products import (
    Comparison,
    Formulation,
    LimitFact,
    Method,
    RateBasis,
    RegistrationKind,
    Severity,
)

PESTS = (
    DemoPest("Brown marmorated stink bug", "Halyomorpha halys", PestGroup.OVERWINTERING),
    DemoPest("Cluster fly", "Pollenia spp.", PestGroup.OVERWINTERING),
    DemoPest("Multicolored Asian lady beetle", "Harmonia axyridis", PestGroup.OVERWINTERING),
    DemoPest("Odorous house ant", "Tapinoma sessile", PestGroup.ANTS),
    DemoPest("Pavement ant", "Tetramorium immigrans", PestGroup.ANTS),
    DemoPest("German cockroach", "Blattella germanica", PestGroup.COCKROACHES),
    DemoPest("House mouse", "Mus musculus", PestGroup.RODENTS),
)
_OUTDOOR = tuple(pest.common_name for pest in PESTS[:5])
_ANTS = tuple(pest.common_name for pest in PESTS[3:5])
_BAND = (Place.FOUNDATION_WALL, Place.SOIL_BAND)

PRODUCTS = (
    DemoProduct(
        "Demonstration A SC",
        "99999-101",
        RegistrationKind.SECTION3,
        Formulation.SC,
        "bifenthrin",
        "7.9",
        "0.666667",
        "3A",
        (
            DemoDirection(
                "Foundation wall and soil band",
                _BAND,
                (Method.PERIMETER_BAND,),
                _OUTDOOR,
                "1",
                "fl_oz",
                "p. 7",
                rate_min="0.5",
                per_gallon="1",
                gallons_per_1000="1",
                residual_days=90,
                min_interval_days=21,
                uses_per_year=6,
            ),
            DemoDirection(
                "Eaves and soffits protected from rain",
                (Place.EAVE_SOFFIT,),
                (Method.SPOT, Method.BROADCAST),
                _OUTDOOR[:3],
                "1",
                "fl_oz",
                "p. 8",
                rate_min="0.33",
                per_gallon="1",
                gallons_per_1000="1",
                residual_days=90,
                min_interval_days=21,
                uses_per_year=6,
            ),
        ),
        (*PYRETHROID_LIMITS, WITHIN_A_DAY),
    ),
    DemoProduct(
        "Demonstration B gel",
        "99999-102",
        RegistrationKind.SECTION3,
        Formulation.GEL,
        "indoxacarb",
        "0.6",
        None,
        "22A",
        (
            DemoDirection(
                "Cracks and crevices inside",
                (Place.CRACK_CREVICE, Place.INTERIOR_SPOT, Place.FOOD_AREA),
                (Method.BAIT, Method.CRACK_CREVICE),
                ("German cockroach", "Odorous house ant"),
                "3",
                "g",
                "p. 5",
                basis=RateBasis.LINEAR,
                residual_days=30,
                min_interval_days=7,
            ),
        ),
        only_listed_uses=True,
    ),
    DemoProduct(
        "Demonstration C CS",
        "99999-103",
        RegistrationKind.SECTION3,
        Formulation.CS,
        "lambda-cyhalothrin",
        "9.7",
        "0.880000",
        "3A",
        (
            DemoDirection(
                "Foundation wall and soil band",
                _BAND,
                (Method.PERIMETER_BAND,),
                _OUTDOOR,
                "0.8",
                "fl_oz",
                "p. 6",
                rate_min="0.2",
                per_gallon="0.4",
                gallons_per_1000="2",
                residual_days=60,
                min_interval_days=14,
                uses_per_year=6,
            ),
        ),
        (*PYRETHROID_LIMITS, ALONE),
    ),
    DemoProduct(
        "Demonstration D G",
        "99999-104",
        RegistrationKind.SECTION3,
        Formulation.GRANULE,
        "bifenthrin",
        "0.2",
        None,
        "3A",
        (
            DemoDirection(
                "Soil and turf around structures",
                (Place.SOIL_BAND, Place.VEGETATION),
                (Method.GRANULE,),
                _ANTS,
                "2.3",
                "lb",
                "p. 3",
                rate_min="1.15",
                residual_days=60,
                min_interval_days=28,
                uses_per_year=4,
            ),
        ),
    ),
    DemoProduct(
        "Demonstration E SC",
        "99999-105",
        RegistrationKind.SECTION3,
        Formulation.SC,
        "fipronil",
        "9.1",
        "0.800000",
        "2B",
        (
            DemoDirection(
                "Foundation band against ants",
                _BAND,
                (Method.PERIMETER_BAND,),
                _ANTS,
                "1.2",
                "fl_oz",
                "p. 6",
                per_gallon="0.8",
                gallons_per_1000="1.5",
                residual_days=90,
                min_interval_days=90,
                uses_per_year=2,
            ),
        ),
        (
            DemoLimit(
                LimitFact.HEIGHT_UP,
                Comparison.AT_MOST,
                "1",
                Severity.REFUSE,
                "Treat the wall up to 1 ft above grade.",
                "p. 6",
            ),
            DemoLimit(
                LimitFact.WIDTH_OUT,
                Comparison.AT_MOST,
                "1",
                Severity.REFUSE,
                "Treat the ground up to 1 ft from the foundation.",
                "p. 6",
            ),
        ),
        is_restricted_use=True,
    ),
    DemoProduct(
        "Demonstration F crevice spray",
        "99999-106",
        RegistrationKind.SECTION3,
        Formulation.READY_TO_USE,
        "deltamethrin",
        "0.02",
        None,
        "3A",
        (
            DemoDirection(
                "Entry points, cracks and crevices",
                (Place.ENTRY_POINT, Place.CRACK_CREVICE),
                (Method.CRACK_CREVICE,),
                tuple(pest.common_name for pest in PESTS[:6]),
                "0.5",
                "fl_oz",
                "p. 3",
                basis=RateBasis.LINEAR,
                residual_days=60,
                min_interval_days=14,
            ),
        ),
    ),
    DemoProduct(
        "Demonstration H dust",
        "99999-108",
        RegistrationKind.SECTION3,
        Formulation.DUST,
        "boric acid",
        "99",
        None,
        "8D",
        (
            DemoDirection(
                "Cracks, crevices and voids inside",
                (Place.CRACK_CREVICE, Place.ENTRY_POINT, Place.VOID),
                (Method.DUST,),
                (*_ANTS, "German cockroach"),
                "2",
                "g",
                "p. 3",
                basis=RateBasis.LINEAR,
                residual_days=180,
                min_interval_days=30,
            ),
        ),
        (
            DemoLimit(
                LimitFact.FOOD_AREA_CLOSED,
                Comparison.REQUIRED,
                "0",
                Severity.REFUSE,
                "Apply in food areas only while they do not operate.",
                "p. 4",
            ),
        ),
        protections=DUST_PROTECTIONS,
    ),
    DemoProduct(
        "Demonstration I aerosol",
        "99999-109",
        RegistrationKind.SECTION3,
        Formulation.AEROSOL,
        "pyrethrins",
        "0.5",
        None,
        "3A",
        (
            DemoDirection(
                "Closed rooms and attics",
                (Place.OPEN_SPACE, Place.ATTIC),
                (Method.SPACE,),
                ("German cockroach",),
                "1",
                "fl_oz",
                "p. 3",
                basis=RateBasis.SPACE_VOLUME,
            ),
        ),
        (
            DemoLimit(
                LimitFact.REENTRY_UNDERSTOOD,
                Comparison.REQUIRED,
                "0",
                Severity.REFUSE,
                "Tell the occupants when they may come back.",
                "p. 2",
            ),
        ),
        protections=SPACE_PROTECTIONS,
    ),
    DemoProduct(
        "Demonstration J EC",
        "99999-110",
        RegistrationKind.SECTION3,
        Formulation.EC,
        "cypermethrin",
        "25.3",
        "2",
        "3A",
        (
            DemoDirection(
                OUTSIDE_TITLE,
                (Place.SOIL_BAND, Place.VEGETATION, Place.FOUNDATION_WALL),
                (Method.BROADCAST, Method.PERIMETER_BAND),
                _OUTDOOR,
                "1",
                "fl_oz",
                "p. 7",
                rate_min="0.4",
                per_gallon="1",
                gallons_per_1000="1",
                residual_days=60,
                min_interval_days=14,
            ),
            DemoDirection(
                INSIDE_TITLE,
                (Place.INTERIOR_SPOT, Place.CRACK_CREVICE),
                (Method.SPOT, Method.CRACK_CREVICE),
                (*_ANTS, "German cockroach"),
                "0.8",
                "fl_oz",
                "p. 8",
                per_gallon="0.8",
                gallons_per_1000="1",
                residual_days=30,
                min_interval_days=14,
            ),
        ),
        OF_THE_WORK,
    ),
)
BEING_ENTERED = replace(PRODUCTS[0], name="Demonstration G SC", number="99999-107")
PROTECTIVE_EQUIPMENT = (
    "Long sleeves and long pants, shoes and socks, chemical-resistant gloves, eye protection."
)
REENTRY = "Keep people and pets off treated surfaces until dry."
PAGES = {
    "protective_equipment": "p. 2",
    "reentry_text": "p. 2",
    "precautions": "p. 1",
    "first_aid": "p. 1",
    "only_listed_uses": "p. 3",
}
PRECAUTIONS = (
    "Harmful if swallowed or absorbed through skin. Toxic to fish and aquatic invertebrates. "
    "Do not apply directly to water, drains or food."
)
# invented, in the order of a label: every real product has its own words
FIRST_AID = (
    "Swallowed: call a poison control center or a doctor at once; no vomiting unless they say so. "
    "On skin: take off what is wet, rinse the skin with water for 15 to 20 minutes. "
    "In eyes: hold the eye open and rinse slowly for 15 to 20 minutes. "
    "Breathed in: go into fresh air. Have this label with you when you call."
)


def decimal_or_none(text: str | None) -> Decimal | None:
    """Read an optional decimal of the tables above."""
    return Decimal(text) if text is not None else None
