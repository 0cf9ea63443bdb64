"""Bring a table in from the command line: `manage.py import_table plants plants.csv --by 0002`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from crosses.base.clock import now, today
from crosses.calc.errors import BadInput
from seedbank.members.models import Member
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import import_table
from seedbank.transfer.kinds import KINDS


class Command(BaseCommand):
    help = "Bring a CSV or XLSX table in, all of it or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=sorted(KINDS))
        parser.add_argument("file", type=Path)
        parser.add_argument("--by", required=True, help="member number of whoever brings it in")
        parser.add_argument(
            "--trial", action="store_true", help="say what would happen, save nothing"
        )

    def handle(self, **options: Any) -> None:
        by = Member.objects.filter(number=options["by"], is_active=True).first()
        if by is None:
            raise CommandError(f"There is no member {options['by']}.")
        kind = KINDS[options["kind"]]
        if not kind.may_be_brought_by(by):
            raise CommandError(f"{kind.title} are brought in by {kind.brought_by}.")
        try:
            report = import_table(
                kind,
                options["file"].read_bytes(),
                options["file"].name,
                Importing(by, now(), today()),
                is_trial=options["trial"],
            )
        except (OSError, BadInput) as wrong:
            raise CommandError(str(wrong)) from wrong
        for note in report.notes:
            self.stdout.write(note)
        for problem in report.problems:
            where = f"row {problem.row_number}" + (f", {problem.column}" if problem.column else "")
            self.stderr.write(f"{where}: {problem.message}")
        self.stdout.write(report.sentence)
        if report.problems:
            raise CommandError("Nothing was saved.")
