"""The walls of the house stand: every import contract of `pyproject.toml` is kept."""

import subprocess
import sys
from pathlib import Path

from importlinter.api import read_configuration

from tests.architecture.source import FLOORS, ROOT

PYPROJECT = ROOT / "pyproject.toml"


def test_every_contract_is_kept() -> None:
    command = [Path(sys.executable).with_name("lint-imports"), "--no-cache", "--config", PYPROJECT]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout[-3000:] + run.stderr


def test_the_stairs_name_every_floor() -> None:
    contracts = read_configuration(str(PYPROJECT))["contracts_options"]
    stairs = next(one for one in contracts if one["name"].startswith("The stairs"))
    assert sorted(stairs["layers"]) == sorted(FLOORS)
