"""The stories meet the same people and examples as the walk over every address."""

from tests.architecture.conftest import clients, elses, own

__all__ = ["clients", "elses", "own"]
