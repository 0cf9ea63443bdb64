"""Write the whole society as an archive of tables: `manage.py export_society FILE`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from crosses.base.clock import now
from seedbank.transfer.archive.export import export_society


class Command(BaseCommand):
    help = "Write every record of the society, addresses too, as one zip of CSV tables."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, **options: Any) -> None:
        rows = export_society(options["file"], at=now())
        self.stdout.write(f"{rows} rows are in {options['file']}. It holds addresses.")
