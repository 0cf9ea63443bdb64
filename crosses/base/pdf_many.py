"""Many documents, one file each: made here if they are few, else by processes of their own."""

import multiprocessing
import os
import threading
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from pathlib import Path

from crosses.base.pdf import render_pdf_file

# What is to be laid out: the file to write, the HTML, and the style sheet of templates/print.
Document = tuple[Path, str, str]

PROCESSES = 2
# Two processes take two seconds to start; below this many documents one is as quick.
FEW = 12


def render_many(documents: Iterable[Document], how_many: int) -> Iterator[Path]:
    """Write each document to its file and yield the path, in whatever order they are finished.

    WeasyPrint must not run in two threads; processes that start afresh share nothing, and each
    sets up the fonts once. The documents may come from a generator: one is made while another is
    laid out. Whoever stops listening stops the work.
    """
    if how_many < FEW:
        yield from map(render_pdf_file, documents)
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(PROCESSES, mp_context=context, initializer=_end_with_parent)
    try:
        waiting: list[Future[Path]] = [pool.submit(render_pdf_file, one) for one in documents]
        for future in as_completed(waiting):
            yield future.result()
    finally:
        pool.shutdown(cancel_futures=True)


def _end_with_parent() -> None:
    """End when the parent is killed; nobody would tell its children otherwise."""
    parent = multiprocessing.parent_process()
    assert parent is not None  # noqa: S101  only ever called in a child

    def wait() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()
