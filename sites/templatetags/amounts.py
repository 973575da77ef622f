"""A number and its unit stay on one line of a narrow screen."""

from __future__ import annotations

import re

from django import template

register = template.Library()

UNITS = ("sq ft", "cu ft", "fl oz", "oz (wt)", "gal", "mL", "L", "lb", "kg", "g", "ft", "in", "d")
BREAKABLE = re.compile(rf"(?<=\d) ({'|'.join(map(re.escape, UNITS))})(?![A-Za-z])")


@register.filter(name="amounts")
def keep_amounts(text: object) -> str:
    """Join every number to its unit with no-break spaces: "744 sq ft" is never split."""
    return BREAKABLE.sub(lambda found: found.group().replace(" ", "\u00a0"), str(text))
