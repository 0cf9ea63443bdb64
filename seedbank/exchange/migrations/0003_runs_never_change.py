from django.db import migrations

from crosses.base.guards import guard_operations


class Migration(migrations.Migration):
    dependencies = [("exchange", "0002_links")]

    operations = [
        migrations.RunPython(
            *guard_operations("exchange_allocationrun", "A sharing-out is never changed; run it again.")
        ),
    ]
