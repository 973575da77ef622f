"""The people of the invented firm."""

from __future__ import annotations

from dataclasses import dataclass

from accounts.permissions import Role
from accounts.rules.respirators import RespiratorKind

FIRM = "Lanternfield Pest Management (demonstration)"
PASSWORD = "demo-only-lantern-field"


@dataclass(frozen=True)
class DemoBranch:
    """One shop of the invented firm."""

    name: str
    state: str
    city: str
    zip_code: str
    license_number: str
    phone: str
    after_hours_phone: str
    latitude: str
    longitude: str


@dataclass(frozen=True)
class DemoPerson:
    """Somebody of the firm; `expires_in` days from today, `supervisor` by e-mail;
    `is_fitted` has respirator papers."""

    email: str
    full_name: str
    roles: frozenset[Role]
    branch: str
    license_kind: str = ""
    license_number: str = ""
    states: tuple[str, ...] = ()
    expires_in: int = 300
    supervisor: str = ""
    is_fitted: bool = False


BRANCHES = (
    DemoBranch(
        "Harrowgate (demo)",
        "OH",
        "Harrowgate",
        "00411",
        "OH-DEMO-5001",
        "+16145550100",
        "+16145550101",
        "40.3600",
        "-82.7100",
    ),
    DemoBranch(
        "Quillhaven (demo)",
        "PA",
        "Quillhaven",
        "00421",
        "PA-DEMO-7001",
        "+18145550110",
        "+18145550111",
        "40.9100",
        "-78.2200",
    ),
)
OHIO, PENNSYLVANIA = (branch.name for branch in BRANCHES)
_TECHNICIAN = frozenset({Role.TECHNICIAN})

PEOPLE = (
    DemoPerson(
        "manager@demo.example",
        "Owen Hadleigh",
        frozenset({Role.MANAGER}),
        OHIO,
        "certified",
        "OH-C-1001",
        ("OH", "PA"),
    ),
    DemoPerson("office@demo.example", "Dana Pruitt", frozenset({Role.OFFICE}), OHIO),
    DemoPerson("office2@demo.example", "Marisol Teague", frozenset({Role.OFFICE}), PENNSYLVANIA),
    DemoPerson(
        "technician@demo.example",
        "Ruth Okafor",
        _TECHNICIAN,
        OHIO,
        "certified",
        "OH-C-1044",
        ("OH",),
    ),
    DemoPerson(
        "technician2@demo.example",
        "Jonas Lindqvist",
        _TECHNICIAN,
        OHIO,
        "registered_technician",
        "OH-R-2210",
        ("OH",),
        supervisor="manager@demo.example",
        is_fitted=True,
    ),
    # goes along with a certified applicator; no hours of their own yet
    DemoPerson(
        "trainee@demo.example",
        "Elise Marwood",
        _TECHNICIAN,
        OHIO,
        "trainee",
        "OH-T-0301",
        ("OH",),
        supervisor="technician@demo.example",
    ),
    DemoPerson(
        "technician3@demo.example",
        "Mira Vargas",
        _TECHNICIAN,
        PENNSYLVANIA,
        "certified",
        "PA-C-3102",
        ("PA",),
        is_fitted=True,
    ),
    DemoPerson(
        "technician4@demo.example",
        "Tobias Amadi",
        _TECHNICIAN,
        PENNSYLVANIA,
        "certified",
        "PA-C-3177",
        ("PA",),
        expires_in=9,
    ),
)
# kind; make, model and size
RESPIRATORS = (
    (RespiratorKind.HALF_PARTICULATE, "Demonstration half-face, medium, P100"),
    (RespiratorKind.HALF_VAPOR, "Demonstration half-face, medium, OV"),
)
