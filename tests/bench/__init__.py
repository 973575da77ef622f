"""Benchmarks: each answer beside the shortest way to the same answer, as a ratio."""
