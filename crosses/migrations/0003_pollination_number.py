"""Give every pollination a number: add, fill, tighten."""

from django.db import migrations, models

from crosses.calc.checkdigit import write_number


def number_pollinations(apps, schema_editor):
    Pollination = apps.get_model("crosses", "Pollination")
    HistoricalPollination = apps.get_model("crosses", "HistoricalPollination")
    NumberSeries = apps.get_model("crosses", "NumberSeries")
    serial = 1
    for pollination in Pollination.objects.order_by("id").iterator():
        number = write_number("pollination", serial)
        Pollination.objects.filter(pk=pollination.pk).update(number=number)
        HistoricalPollination.objects.filter(id=pollination.pk).update(number=number)
        serial += 1
    NumberSeries.objects.update_or_create(kind="pollination", defaults={"next_serial": serial})


class Migration(migrations.Migration):
    dependencies = [("crosses", "0002_links")]

    operations = [
        migrations.AddField(
            "pollination", "number", models.CharField(default="", editable=False, max_length=20)
        ),
        migrations.AddField(
            "historicalpollination",
            "number",
            models.CharField(db_index=True, default="", editable=False, max_length=20),
        ),
        migrations.RunPython(number_pollinations, migrations.RunPython.noop),
        migrations.AlterField(
            "pollination", "number", models.CharField(editable=False, max_length=20, unique=True)
        ),
        migrations.AlterField(
            "historicalpollination",
            "number",
            models.CharField(db_index=True, editable=False, max_length=20),
        ),
    ]
