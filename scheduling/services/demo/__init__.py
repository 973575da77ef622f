"""The demonstration firm, made only through services, from a seed and a day."""
