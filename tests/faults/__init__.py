"""Faults on purpose: what breaks outside loses nothing inside."""
