"""Bring the archive of a whole society into an empty database: `manage.py restore_society FILE`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from crosses.base.refusal import Refused
from crosses.calc.errors import BadInput
from seedbank.transfer.archive.restore import restore_society


class Command(BaseCommand):
    help = "Bring the archive of a whole society into an empty database, all of it or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, **options: Any) -> None:
        try:
            many = restore_society(options["file"], say=self.stdout.write)
        except (Refused, BadInput) as no:
            raise CommandError(no.message) from no
        self.stdout.write(f"{many} records are in. Members choose a new password by a mailed link.")
