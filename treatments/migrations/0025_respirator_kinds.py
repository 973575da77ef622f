"""Which respirator will do is a choice; the first one is what the words of a row say."""

from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from treatments.rules.protective_equipment import respirators_in


def choose(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    rows = apps.get_model("treatments", "LabelProtection").objects
    for row in rows.all():
        found = list(respirators_in(row.item))
        if found:
            rows.filter(pk=row.pk).update(respirators=found)


class Migration(migrations.Migration):
    dependencies = (("treatments", "0024_tank_corrections"),)
    operations = (
        migrations.AddField(
            model_name="labelprotection",
            name="respirators",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.RunPython(choose, migrations.RunPython.noop),
    )
