"""Races and faults in many rounds: `python -m tests.faults NAME`."""
