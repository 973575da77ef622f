"""What rules say of copies, which stood in code, becomes part of the versions that are stored."""

from django.db import migrations, models

COPIES = {
    "US-MN": [
        {
            "of": "every",
            "days": 5,
            "clause": "Minn. Stat. 18B.37 subd. 2",
            "note": "By when was not read: the five days of the record itself (house rule).",
            "evidence": "read",
        }
    ],
    "US-WI": [
        {
            "of": "every",
            "days": 30,
            "clause": "Wis. Admin. Code ATCP 29.21",
            "note": "By e-mail only where the customer has agreed to get it so.",
            "evidence": "read",
        }
    ],
    "US-ID": [
        {
            "of": "restricted",
            "days": 30,
            "clause": "IDAPA 02.03.03.101",
            "note": "",
            "evidence": "read",
        }
    ],
    "US-NM": [
        {
            "of": "on_request",
            "days": 0,
            "clause": "21.17.50.10 NMAC",
            "note": "",
            "evidence": "read",
        }
    ],
}
TABLE = "treatments_jurisdictionprofile"


def move(apps, schema_editor):
    """Every stored version of these rules gets what held of it until now.

    A used version never changes; this says nothing new of it, so its guard is lifted for the
    moment (SQLite lifts guards before every migration by itself).
    """
    rows = apps.get_model("treatments", "JurisdictionProfile").objects
    is_postgres = schema_editor.connection.vendor == "postgresql"
    if is_postgres:
        schema_editor.execute(f"ALTER TABLE {TABLE} DISABLE TRIGGER USER")
    for code, copies in COPIES.items():
        rows.filter(code=code).update(copies=copies)
    if is_postgres:
        schema_editor.execute(f"ALTER TABLE {TABLE} ENABLE TRIGGER USER")


class Migration(migrations.Migration):
    dependencies = [("treatments", "0027_kept_words_and_times")]

    operations = [
        migrations.AddField(
            model_name="jurisdictionprofile",
            name="copies",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.RunPython(move, migrations.RunPython.noop),
    ]
