"""Whatever stands in a table, verifying the log says where it differs and never raises.

PostgreSQL refuses values of another type by itself; SQLite stores what it is given.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import spill
from tests.treatments.test_log import behind_the_guards
from treatments.rules.leaves import SALT_BYTES, kept_digest, personal_digest
from treatments.selectors.log import verify, verify_all
from treatments.services.incidents import report_incident

ANYTHING = st.one_of(
    st.none(), st.integers(), st.floats(), st.binary(max_size=64), st.text(max_size=20)
)


@given(st.text(max_size=12), ANYTHING, ANYTHING)
def test_a_digest_of_anything_is_a_digest_or_says_that_it_is_none(
    field: str, value: object, salt: object
) -> None:
    said = kept_digest(field, value, salt)
    is_sound = (
        isinstance(salt, bytes)
        and isinstance(value, str)
        and len(salt) == SALT_BYTES
        and "\x00" not in field
    )
    try:
        digest = personal_digest(field, value, salt) if is_sound else ""  # type: ignore[arg-type]
    except UnicodeEncodeError:
        digest = ""
    assert said == digest if digest else said.startswith("not readable")


@given(st.text(alphabet="abc é", max_size=12), st.binary(min_size=32, max_size=32))
def test_a_sound_value_keeps_its_digest(value: str, salt: bytes) -> None:
    assert kept_digest("street", value, memoryview(salt)) == personal_digest("street", value, salt)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE treatments_recordpersonalvalue SET salt = x'' ",
        "UPDATE treatments_recordpersonalvalue SET salt = x'0102' ",
        "UPDATE treatments_recordpersonalvalue SET salt = 'text' ",
        "UPDATE treatments_recordpersonalvalue SET salt = 5 ",
        "UPDATE treatments_recordpersonalvalue SET value = x'ff' ",
        "UPDATE treatments_recordpersonalvalue SET field = 'a' || char(0) || field ",
        "UPDATE treatments_incidentpersonalvalue SET salt = x'01' ",
        "UPDATE treatments_incident SET done = '7' ",
        "UPDATE treatments_incident SET happened_at = 'soon' ",
        "UPDATE treatments_applicationrecord SET pests = '7' ",
        "UPDATE treatments_applicationrecord SET finished_at = 'noon' ",
        "UPDATE treatments_applicationrecord SET applied_on = '2026-13-40' ",
        "UPDATE treatments_applicationrecord SET client_ref = 'x' WHERE id = 1",
        "UPDATE treatments_applicationrecord SET area_mm2 = 'wide' ",
        "UPDATE treatments_applicationrecord SET wind_mph = 'strong' ",
        "UPDATE treatments_residualwindow SET factors = '7' ",
        "UPDATE treatments_logentry SET at = 'never' ",
        "UPDATE treatments_logentry SET leaf = 'text' ",
        "UPDATE treatments_logentry SET leaf = x'5b5b5b' ",
        "UPDATE treatments_logentry SET leaf = "
        "CAST(replace(hex(zeroblob(9000)), '0', '[') AS BLOB)",
        "UPDATE treatments_logentry SET leaf_hash = 7 ",
        "UPDATE treatments_logfrontier SET nodes = '7' ",
        "UPDATE treatments_logfrontier SET size = 'many' ",
    ],
)
def test_a_malformed_column_is_a_difference(three: House, statement: str) -> None:
    report_incident(incident=spill(three), by=three.technician, now=NOW + timedelta(hours=1))
    assert verify(three.place.branch_id).is_whole
    behind_the_guards(statement)
    assert not verify(three.place.branch_id).is_whole
    [said] = verify_all()
    assert said.difference.endswith(".")
    assert "Error" not in said.difference
