"""The diagram of visit states that developers read is the one the code follows."""

from scheduling.rules.visit_states import visit_diagram
from tests.architecture.source import ROOT


def test_developers_read_the_diagram_of_the_code() -> None:
    assert visit_diagram().strip() in (ROOT / "DEVELOPERS.md").read_text()
