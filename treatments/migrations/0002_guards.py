from django.db import migrations

from accounts import append_only
from treatments.models import GUARDS


def install(apps, schema_editor):
    """Guard the tables there are by now; after `migrate` every guard is installed again."""
    tables = set(schema_editor.connection.introspection.table_names())
    present = [guard for guard in GUARDS if guard.table in tables]
    append_only.install(schema_editor.connection, present)


class Migration(migrations.Migration):
    dependencies = [("treatments", "0001_initial")]
    operations = [migrations.RunPython(install, migrations.RunPython.noop)]
