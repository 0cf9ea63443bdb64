"""500 packing slips, one file each and joined, as the job prints them; beside one document of them all.

The single document is measured on 50 slips only: its memory grows by the page.
"""

import os
import resource
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seedbank.settings")
django.setup()

from crosses.base.pdf import render_pdf  # noqa: E402  Django is set up first
from crosses.base.pdf_many import render_many  # noqa: E402
from seedbank.exchange.jobs import join_files  # noqa: E402
from seedbank.exchange.slip import slip_html  # noqa: E402
from tests.exchange.test_slip import LINE, SLIP  # noqa: E402

SLIPS = 500
PLAIN = 50
LINES = tuple(replace(LINE, line_number=number) for number in range(1, 19))


def _html(number: int) -> str:
    return slip_html(replace(SLIP, parcel_number=f"R{number:06d}-00", lines=LINES))


def _seconds(act: Callable[[], object]) -> float:
    begun = time.perf_counter()
    act()
    return time.perf_counter() - begun


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = [folder / f"{number:04d}.pdf" for number in range(SLIPS)]
        documents = ((path, _html(number), "slip.css") for number, path in enumerate(paths))
        laid_out = _seconds(lambda: list(render_many(documents, SLIPS)))
        joined = _seconds(lambda: join_files(paths, folder / "all.pdf"))
        size = (folder / "all.pdf").stat().st_size
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    plain = _seconds(
        lambda: render_pdf(*(_html(number) for number in range(PLAIN)), stylesheet="slip.css")
    )
    print(
        f"{SLIPS} slips of {len(LINES)} packets: {laid_out:.0f} s to lay out"
        f" ({1000 * laid_out / SLIPS:.0f} ms each, {child:.0f} MB a process),"
        f" {joined:.0f} s to join, {size / 1e6:.1f} MB"
    )
    print(
        f"one document of {PLAIN}: {1000 * plain / PLAIN:.0f} ms each; ratio"
        f" {plain / PLAIN / (laid_out / SLIPS):.1f}"
    )


if __name__ == "__main__":
    main()
