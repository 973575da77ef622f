"""One `pytest` call, two engines: what is marked `engine` runs again on PostgreSQL.

Services use the one default database, so an engine is a matter of a whole process. When the run
on SQLite is over and it met a test marked `engine`, the first process starts the throwaway
servers and calls pytest again with the same arguments and `-m engine`. Its result decides the
exit code too.
"""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.servers import ServerMissing, kept_servers
from tests.settings import ENGINE

SKIPPED_LOUDLY = "PostgreSQL: NOT RUN, {count} tests marked engine ran on SQLite only ({why})"
_met = pytest.StashKey[int]()
_said = pytest.StashKey[str]()


def pytest_addoption(parser: pytest.Parser) -> None:
    """Two ways to be in a hurry, both named in the summary, and one to take longer."""
    group = parser.getgroup("eaveline")
    group.addoption("--no-services", action="store_true", help="do not run the engine tests again")
    group.addoption("--no-browser", action="store_true", help="leave out the browser tests")
    group.addoption(
        "--every-value", action="store_true",
        help="send each of the worst values in each field of every form, not one in turn",
    )  # fmt: skip


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the browser or the servers when asked to."""
    for option, mark in (("--no-browser", "browser"), ("--no-services", "services")):
        if config.getoption(option):
            left_out = [item for item in items if item.get_closest_marker(mark)]
            config.hook.pytest_deselected(items=left_out)
            items[:] = [item for item in items if item not in left_out]


def pytest_collection_finish(session: pytest.Session) -> None:
    """Tell the first process how many tests are marked `engine`."""
    count = sum(1 for item in session.items if item.get_closest_marker("engine"))
    session.config.stash[_met] = count
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["engine_tests"] = count


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object, error: object) -> None:
    """Take the count from a worker that is done."""
    config: pytest.Config = node.config  # type: ignore[attr-defined]
    count = getattr(node, "workeroutput", {}).get("engine_tests", 0)
    config.stash[_met] = max(count, config.stash.get(_met, 0))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Run again on PostgreSQL from the first process, once."""
    config = session.config
    count = config.stash.get(_met, 0)
    is_first = ENGINE == "sqlite" and not hasattr(config, "workerinput")
    if not is_first or not count or config.option.collectonly:
        return
    if config.getoption("--no-services"):
        config.stash[_said] = SKIPPED_LOUDLY.format(count=count, why="--no-services")
        return
    code, said = _run_again(config)
    config.stash[_said] = f"PostgreSQL: {said}"
    if code:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def _run_again(config: pytest.Config) -> tuple[int, str]:
    marks = f"engine and ({config.option.markexpr})" if config.option.markexpr else "engine"
    arguments = (*config.invocation_params.args, "-m", marks, "--verbosity=-1")
    command = [sys.executable, "-m", "pytest", *arguments]
    try:
        with kept_servers() as addresses:
            environment = os.environ | addresses | {"EAVELINE_TEST_ENGINE": "postgresql"}
            return _stream(config, command, environment)
    except ServerMissing as missing:
        return 1, f"FAILED, {missing}"


def _stream(
    config: pytest.Config, command: list[str], environment: dict[str, str]
) -> tuple[int, str]:
    """Show the second run line by line and give its exit code and its last line."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    reporter.write_line("")
    reporter.section("the same on PostgreSQL")
    last = ""
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
        cwd=config.invocation_params.dir,
    ) as run:
        assert run.stdout
        for line in run.stdout:
            last = line.strip() or last
            reporter.write_line(line.rstrip())
    return run.returncode, last


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say what the second run came to, beside the first one's own last line."""
    if said := config.stash.get(_said, ""):
        terminalreporter.section(said)
    if config.getoption("--no-browser"):
        terminalreporter.section("Browser: NOT RUN (--no-browser)")
