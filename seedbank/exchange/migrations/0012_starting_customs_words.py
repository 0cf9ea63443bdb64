"""Words to begin with; from then on the table is the society's.

The fields are those of the form CN 22; the statements follow the small-lots conditions of the
starting list of cautions. Values and tariff numbers are common practice, no source.
"""

import datetime

from django.db import migrations
from django.utils import timezone

COMMON = {
    "ticked": "gift",
    "tariff_number": "1209.99",
    "value_per_packet": "0.50",
    "currency": "GBP",
    "checked_on": datetime.date(2026, 11, 25),
    "checked_by": "starting list, read in stored copies; to be checked by this society",
}
WORDS = (
    {
        "country": "",
        "contents": "Seeds for sowing, {packets} packets, botanical list enclosed",
        "statement": "Clean seed, free from soil, pods and living organisms.",
        "source": "fields of the form CN 22 (Universal Postal Union); words common practice",
    },
    {
        "country": "US",
        "contents": "Seeds for sowing, {packets} packets, botanical list and import permit enclosed",
        "statement": "Small lots of seed: each packet holds at most 50 seeds or at most 10 g of one"
        " taxon. Free from pesticides, soil, other plant material, foreign matter, seeds in the"
        " fruit or pod, and living organisms. The collector or sender, the botanical name, the"
        " country of origin and the country sent from are listed for each packet.",
        "source": "7 CFR 319.37; https://nargs.org/small-lots-seed",
    },
    {
        "country": "AU",
        "contents": "Seeds for sowing, {packets} packets, full botanical names on each",
        "statement": "Each packet is labelled with its full botanical name, hybrids with their full"
        " parentage. Free from live insects, soil, disease, pod and leaf pieces.",
        "source": "https://bicon.agriculture.gov.au/BiconWeb4.0, case Permitted seed for sowing",
    },
    {
        "country": "NZ",
        "contents": "Seeds for sowing, {packets} packets, full botanical names on each",
        "statement": "Each packet is labelled with its full botanical name. Clean seed, free from"
        " soil, pods and living organisms.",
        "source": "http://www.biosecurity.govt.nz/regs/imports/plants/seeds",
    },
)


def fill(apps, editor):
    model = apps.get_model("exchange", "CustomsWords")
    history = apps.get_model("exchange", "HistoricalCustomsWords")
    for row in WORDS:
        words = model.objects.create(**COMMON, **row)
        history.objects.create(
            id=words.pk,
            **COMMON,
            **row,
            history_date=timezone.now(),
            history_type="+",
            history_change_reason="Starting list.",
        )


def empty(apps, editor):
    apps.get_model("exchange", "HistoricalCustomsWords").objects.all().delete()
    apps.get_model("exchange", "CustomsWords").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("exchange", "0011_customs_words")]
    operations = [migrations.RunPython(fill, empty)]
