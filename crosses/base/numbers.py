"""Society numbers with check digits, handed out once each, under any concurrency."""

from django.db import transaction
from django.db.models import F

from crosses.calc.checkdigit import write_number
from crosses.models.number import NumberSeries


@transaction.atomic
def next_numbers(kind: str, how_many: int = 1) -> list[str]:
    """Take the next numbers of a kind ("plant", "packet" ...).

    The update locks the series' row until the caller's transaction ends, so two people who make
    packets at the same moment get different numbers, and a failed act gives its numbers back.
    """
    NumberSeries.objects.get_or_create(kind=kind)
    NumberSeries.objects.filter(kind=kind).update(next_serial=F("next_serial") + how_many)
    end = NumberSeries.objects.values_list("next_serial", flat=True).get(kind=kind)
    return [write_number(kind, serial) for serial in range(end - how_many, end)]


def next_number(kind: str) -> str:
    return next_numbers(kind)[0]
