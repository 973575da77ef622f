"""The floor of verifying a log: read every leaf, hash it, and hash up to the root."""

from __future__ import annotations

from hashlib import sha256

from django.db import connection

AT_ONCE = 2000


def floor(branch_id: int) -> tuple[int, str]:
    """Number of leaves and root, from the bytes alone; nothing is compared."""
    level = []
    with connection.chunked_cursor() as cursor:
        cursor.execute(
            "SELECT leaf FROM treatments_logentry WHERE branch_id = %s ORDER BY seq", [branch_id]
        )
        while rows := cursor.fetchmany(AT_ONCE):
            level += [sha256(b"\x00" + leaf).digest() for (leaf,) in rows]
    size = len(level)
    while len(level) > 1:
        pairs = zip(level[::2], level[1::2], strict=False)
        odd = level[-1:] if len(level) % 2 else []
        level = [sha256(b"\x01" + left + right).digest() for left, right in pairs] + odd
    return size, level[0].hex()
