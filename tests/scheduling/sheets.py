"""Spreadsheets for tests: rows of plain values, written as the firm would save them."""

from __future__ import annotations

import csv
import io

from scheduling.rules.spreadsheet import NAMES

ROW = {
    "customer_name": "Pat Example",
    "customer_kind": "residential",
    "contact_name": "Pat Example",
    "phone": "614-555-0142",
    "email": "pat@customer.example",
    "billing_address": "PO Box 7, Columbus, OH 43085",
    "service_street": "12 Oak Street",
    "service_city": "Worthington",
    "service_county": "Franklin",
    "service_state": "OH",
    "service_zip": "43085",
    "latitude": "40.093400",
    "longitude": "-83.018000",
    "zone_name": "Foundation",
    "zone_place": "foundation_wall",
    "wall_run_ft": "180",
    "height_up_ft": "3",
    "width_out_ft": "3",
    "surface": "porous_masonry",
    "exposure": "sun",
    "last_product": "Demonstration A SC",
    "last_residual_days": "90",
    "last_applied_on": "2026-09-10",
    "last_applicator": "A. Someone",
}


def sheet(*rows: dict[str, str], encoding: str = "utf-8") -> bytes:
    """A file with these rows, each a change of `ROW`."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, NAMES)
    writer.writeheader()
    writer.writerows(ROW | row for row in rows)
    return text.getvalue().encode(encoding)


def many(count: int) -> bytes:
    """`count` zones, three a property, each property of its own customer."""
    places = ("foundation_wall", "eave_soffit", "soil_band")
    return sheet(
        *(
            {
                "customer_name": f"Customer {number // 3:06d}",
                "contact_name": f"Contact {number // 3:06d}",
                "billing_address": "",
                "email": f"c{number // 3}@customer.example",
                "service_street": f"{number // 3} Long Street",
                "zone_name": f"Zone {number % 3}",
                "zone_place": places[number % 3],
                "latitude": f"{40 + (number // 3 % 1000) / 5000:.6f}",
            }
            for number in range(count)
        )
    )
