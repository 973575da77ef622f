from django.db import migrations

from accounts import append_only
from scheduling.models import GUARDS


def install(apps, schema_editor):
    append_only.install(schema_editor.connection, GUARDS)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0001_initial")]
    operations = [migrations.RunPython(install, migrations.RunPython.noop)]
