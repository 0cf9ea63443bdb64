"""The starting list of rules; from then on the table is the society's."""

import json

from django.conf import settings
from django.db import migrations
from django.utils import timezone


def fill(apps, editor):
    rule_model = apps.get_model("bank", "CautionRule")
    history_model = apps.get_model("bank", "HistoricalCautionRule")
    path = settings.BASE_DIR / "fixtures" / "cautions.json"
    for row in json.loads(path.read_text(encoding="utf-8")):
        rule = rule_model.objects.create(**row)
        history_model.objects.create(
            id=rule.pk,
            **row,
            history_date=timezone.now(),
            history_type="+",
            history_change_reason="Starting list.",
        )


def empty(apps, editor):
    apps.get_model("bank", "HistoricalCautionRule").objects.all().delete()
    apps.get_model("bank", "CautionRule").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("bank", "0004_caution_rules")]
    operations = [migrations.RunPython(fill, empty)]
