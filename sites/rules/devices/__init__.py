"""Numbered devices: words, what a check may say, rounds, thresholds and trends."""
