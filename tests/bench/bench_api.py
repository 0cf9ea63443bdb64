"""The API over one million counts: pages, summaries, courses and the table of all of it.

Run as ``python -m tests.bench.bench_api [counts]``, in a database of its own that is thrown away. The
invented society has 2,000 lots of 50 taxa, and one sowing of one pot for every ten counts.
"""

import datetime
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any

import django
import numpy as np

COUNTS = 1_000_000
LOOKS = 10
LOTS = 2000
TAXA = 50
REQUESTS = 40
SEED = 20261125
AT = datetime.datetime(2026, 5, 20, 12, tzinfo=datetime.UTC)
BATCH = 20_000


def in_batches(model: Any, rows: Iterable[Any]) -> list[Any]:
    made: list[Any] = []
    batch: list[Any] = []
    for row in rows:
        batch.append(row)
        if len(batch) == BATCH:
            made += model.objects.bulk_create(batch)
            batch = []
    return made + model.objects.bulk_create(batch)


def make_society(counts: int) -> Any:
    """Invented records of the right shape, written past the acts: those take hours for so many."""
    from crosses.models import Taxon
    from seedbank.bank.models import Lot, Packet
    from seedbank.members.models import Member
    from seedbank.sowings.models import Count, Replicate, Sowing

    draw = np.random.default_rng(SEED)
    growers = [
        Member.objects.create_user(
            f"m{n}@example.org",
            number=f"{n:04}",
            name=f"M {n}",
            country="GB",
            donor_code=f"Q{n:03}",
        )
        for n in range(1, 101)
    ]
    taxa = [Taxon.objects.create(genus="Primula", species=f"inventa{n}") for n in range(TAXA)]
    days = [datetime.date(2010 + n % 15, 7, 1) for n in range(LOTS)]
    lots = in_batches(
        Lot,
        (
            Lot(
                number=f"L{n:06}",
                name_text=f"Primula inventa{n % TAXA}",
                taxon=taxa[n % TAXA],
                raised_by=growers[n % 100],
                owner=growers[n % 100],
                origin="garden",
                year=days[n].year,
                collected_on=days[n],
            )
            for n in range(LOTS)
        ),
    )
    sowings = counts // LOOKS
    packets = in_batches(
        Packet,
        (
            Packet(
                number=f"S{n:06}",
                lot=lots[n % LOTS],
                seeds=100,
                made_at=AT,
                state="sown",
                seeds_left=0,
                last_step=2,
            )
            for n in range(sowings)
        ),
    )
    sown = in_batches(
        Sowing,
        (
            Sowing(
                number=f"W{n:06}",
                packet=packets[n],
                grower=growers[n % 100],
                sown_on=days[n % LOTS] + datetime.timedelta(days=int(age)),
                seeds_sown=100,
                temperature_low_celsius=5 * (n % 4),
                logged_at=AT,
            )
            for n, age in enumerate(draw.integers(60, 1500, sowings))
        ),
    )
    shares = draw.beta(4, 3, sowings) / LOOKS
    newly = draw.binomial(10, np.repeat(shares[:, None], LOOKS, axis=1) * LOOKS)
    pots = in_batches(
        Replicate,
        (
            Replicate(sowing=sown[n], position=1, seeds=100, germinated=int(newly[n].sum()))
            for n in range(sowings)
        ),
    )
    in_batches(
        Count,
        (
            Count(
                replicate=pots[n],
                counted_on=sown[n].sown_on + datetime.timedelta(days=7 * (look + 1) + n % 7),
                newly_seen=int(newly[n, look]),
                typed_as="new",
                typed_number=int(newly[n, look]),
                logged_by=growers[n % 100],
                logged_at=AT,
            )
            for n in range(sowings)
            for look in range(LOOKS)
        ),
    )
    return growers[0]


def percentile(ask: Callable[[], Any], requests: int = REQUESTS) -> tuple[float, float, float]:
    """Median and 95th percentile of milliseconds by the clock, and the median of the processor's."""
    times, worked = [], []
    for _ in range(requests):
        began, working = time.perf_counter(), time.process_time()
        answer = ask()
        times.append((time.perf_counter() - began) * 1000)
        worked.append((time.process_time() - working) * 1000)
        assert answer.status_code == 200, answer.content
    return statistics.median(times), float(np.percentile(times, 95)), statistics.median(worked)


def report(member: Any, counts: int) -> None:
    from rest_framework.test import APIClient

    from seedbank.api import limits

    limits.MOST_REQUESTS = 1_000_000
    client = APIClient()
    client.force_authenticate(member)
    asked = {
        "history, first page": ("germination/", REQUESTS),
        "history, one taxon": ("germination/?taxon=Primula+inventa7", REQUESTS),
        "history, one year": ("germination/?genus=Primula&sown_year=2016", REQUESTS),
        "counts, 500 a page": ("counts/?page_size=500", REQUESTS),
        "summary of a taxon": ("germination/summary/?group_by=harvest_year&taxon=inventa7", 10),
        "summary of all, by taxon": ("germination/summary/?group_by=taxon", 3),
        "summary of all, by two": ("germination/summary/?group_by=seed_age,temperature", 3),
        "course of a taxon": ("germination/courses/?taxon=inventa7", 10),
    }
    for words, (address, requests) in asked.items():
        middle, high, worked = percentile(lambda a=address: client.get(f"/api/v1/{a}"), requests)
        print(
            f"  {words:28} median {middle:8.0f} ms   95 % {high:8.0f} ms"
            f"   processor {worked:8.0f} ms",
            flush=True,
        )
    for words, address, rows in (
        ("table of counts", "counts.csv", counts),
        ("table of history", "germination.csv", counts // LOOKS),
    ):
        began = time.perf_counter()
        written = sum(len(part) for part in client.get(f"/api/v1/{address}").streaming_content)
        seconds = time.perf_counter() - began
        print(f"  {words:28} {rows / seconds:8,.0f} rows a second, {written / 1e6:.0f} MB")


def main(counts: int = COUNTS) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seedbank.settings")
    django.setup()
    from django.conf import settings
    from django.test.utils import setup_databases, setup_test_environment, teardown_databases

    settings.DEBUG = False
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    setup_test_environment()
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        began = time.perf_counter()
        member = make_society(counts)
        print(f"{counts:,} counts (made in {time.perf_counter() - began:.0f} s)", flush=True)
        report(member, counts)
    finally:
        teardown_databases(databases, verbosity=0)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
