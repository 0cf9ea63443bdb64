"""An archive of tables: a zip of CSV files and a manifest in JSON, read back to the letter.

A spreadsheet shows the cells as they are, and runs none of them: text that could be a formula
stands behind an apostrophe. So does text that begins with one, so that reading takes off exactly
what writing put on.
"""

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from crosses.calc.errors import BadInput
from seedbank.formats.tables.cells import FORMULA_STARTS

FORMAT = "seed-bank-and-exchange archive"
VERSION = 1
MANIFEST = "manifest.json"
APOSTROPHE = "'"
# A fixed moment, so that the same records make the same file.
ZIP_MOMENT = (1980, 1, 1, 0, 0, 0)
MOST_FIELD = 50_000_000


@dataclass(frozen=True, slots=True)
class TableEntry:
    """What the manifest tells of one table."""

    file: str
    record: str
    rows: int
    sha256: str
    columns: tuple[Mapping[str, str], ...]


def protected(text: str) -> str:
    if text.startswith((*FORMULA_STARTS, APOSTROPHE)):
        return APOSTROPHE + text
    return text


def unprotected(text: str) -> str:
    return text.removeprefix(APOSTROPHE)


class ArchiveWriter:
    """Writes tables one after the other, a row at a time, and the manifest at the end."""

    def __init__(self, path: Path) -> None:
        self._zip = zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED)
        self._entries: list[TableEntry] = []

    def __enter__(self) -> "ArchiveWriter":
        return self

    def __exit__(self, *_failure: object) -> None:
        self._zip.close()

    def add_table(
        self,
        record: str,
        columns: Sequence[Mapping[str, str]],
        rows: Iterable[Sequence[str]],
        tell: Callable[[int], None],
    ) -> None:
        """Write a table whose cells are text already; `tell` is told how many rows are written."""
        name = f"{record}.csv"
        digest = hashlib.sha256()
        many = 0
        buffer = io.StringIO(newline="")
        writer = csv.writer(buffer, lineterminator="\r\n")

        def flush(file: IO[bytes]) -> None:
            data = buffer.getvalue().encode()
            digest.update(data)
            file.write(data)
            buffer.seek(0)
            buffer.truncate()

        with self._zip.open(_info(name), "w", force_zip64=True) as file:
            writer.writerow([column["name"] for column in columns])
            for row in rows:
                writer.writerow(row)
                many += 1
                if many % 1000 == 0:
                    flush(file)
                    tell(many)
            flush(file)
        tell(many)
        self._entries.append(TableEntry(name, record, many, digest.hexdigest(), tuple(columns)))

    def add_file(self, name: str, data: bytes) -> None:
        self._zip.writestr(_info(name), data)

    def end(self, about: Mapping[str, Any]) -> None:
        """Write the manifest: what this is, and what is in which file."""
        manifest = {
            "format": FORMAT,
            "version": VERSION,
            **about,
            "cells": "UTF-8, RFC 4180; an apostrophe stands before text that begins with one, or"
            " that a spreadsheet could run; an empty cell is nothing.",
            "tables": [asdict(entry) for entry in self._entries],
        }
        self.add_file(MANIFEST, json.dumps(manifest, indent=1, ensure_ascii=False).encode())


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, ZIP_MOMENT)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o600 << 16
    return info


class ArchiveReader:
    """Reads an archive; what is not whole is refused before anything of it is used."""

    def __init__(self, path: Path) -> None:
        try:
            self._zip = zipfile.ZipFile(path)
            self.manifest: dict[str, Any] = json.loads(self._zip.read(MANIFEST))
        except (OSError, KeyError, ValueError, zipfile.BadZipFile):
            raise BadInput(f"{path.name} is not an archive of a society.") from None
        if self.manifest.get("format") != FORMAT or self.manifest.get("version") != VERSION:
            raise BadInput(f"{path.name} is an archive of another kind or version.")
        self._check_whole()

    def __enter__(self) -> "ArchiveReader":
        return self

    def __exit__(self, *_failure: object) -> None:
        self._zip.close()

    @property
    def tables(self) -> dict[str, Mapping[str, Any]]:
        return {entry["record"]: entry for entry in self.manifest["tables"]}

    def rows(self, record: str) -> Iterator[dict[str, str]]:
        """Return the rows of a table, cells as they were written."""
        csv.field_size_limit(MOST_FIELD)
        with self._zip.open(f"{record}.csv") as file:
            text = io.TextIOWrapper(file, encoding="utf-8", newline="")
            yield from csv.DictReader(text, strict=True)

    def files(self, folder: str) -> Iterator[tuple[str, bytes]]:
        for name in self._zip.namelist():
            if name.startswith(f"{folder}/") and not name.endswith("/"):
                yield name.removeprefix(f"{folder}/"), self._zip.read(name)

    def _check_whole(self) -> None:
        for entry in self.manifest["tables"]:
            digest = hashlib.sha256()
            try:
                with self._zip.open(entry["file"]) as file:
                    while piece := file.read(1_000_000):
                        digest.update(piece)
            except (KeyError, zipfile.BadZipFile):
                raise BadInput(f"{entry['file']} is missing or damaged.") from None
            if digest.hexdigest() != entry["sha256"]:
                raise BadInput(f"{entry['file']} is not as it was written: nothing is read.")
