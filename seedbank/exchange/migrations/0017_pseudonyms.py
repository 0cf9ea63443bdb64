"""Members stand under pseudonyms in what is published of a round.

A round whose inputs are frozen was, or will be, drawn by member numbers: it keeps them, and its files
are the keeper's.
"""

import secrets

from django.db import migrations, models


def give_keys(apps, schema_editor):
    for found in apps.get_model("exchange", "Round").objects.filter(frozen_at=None, runs=None):
        found.pseudonym_key = secrets.token_hex(32)
        found.save(update_fields=["pseudonym_key"])


class Migration(migrations.Migration):
    dependencies = [("exchange", "0016_row_version")]

    operations = [
        migrations.AddField(
            model_name="round",
            name="pseudonym_key",
            field=models.CharField(blank=True, editable=False, max_length=64),
        ),
        migrations.RunPython(give_keys, migrations.RunPython.noop),
    ]
