from django.db import migrations

from crosses.base.guards import guard_operations


class Migration(migrations.Migration):
    dependencies = [("bank", "0002_links")]

    operations = [
        migrations.RunPython(*guard_operations("bank_movement", "A movement is never changed; add the next one.")),
    ]
