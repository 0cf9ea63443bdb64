"""Make the demo society, print its slips, and serve it: `manage.py demo`."""

import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from crosses.base.clock import now, today
from crosses.base.refusal import Refused
from seedbank.exchange.access import finished_rounds
from seedbank.members.models import Member
from seedbank.transfer.demo import PASSWORD, is_demo_here, load_demo

PEOPLE = (
    ("0001", "grower and donor"),
    ("0002", "seed keeper"),
    ("0003", "packer"),
    ("0004", "member abroad"),
    ("0005", "administrator"),
    ("0006", "reads by script"),
)


class Command(BaseCommand):
    help = "Bring in the invented society, with a finished exchange and its slips, and serve it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop when everything is made")
        parser.add_argument("--no-slips", action="store_true", help="print no packing slips")
        parser.add_argument("--address", default="127.0.0.1:8000", help="where to serve")

    def handle(self, **options: Any) -> None:
        begun = time.monotonic()
        call_command("migrate", verbosity=0)
        if is_demo_here():
            self.stdout.write("The demo society is here already; it is left as it is.")
        else:
            self.stdout.write(
                "Bringing in the Quillfeather Primula Fellowship (all of it invented):"
            )
            try:
                load_demo(at=now(), today=today(), say=self._say)
            except Refused as no:
                raise CommandError(no.message) from no
        folder = settings.VAR_DIR / "demo-slips"
        if not options["no_slips"]:
            slug = self._finished_round()
            call_command("slips", slug, to=str(folder), stdout=self.stdout)
        self.stdout.write(f"Ready after {time.monotonic() - begun:.0f} seconds.")
        self._print_sign_ins(options["address"])
        if not options["no_serve"]:
            call_command("runserver", options["address"], "--noreload")

    def _say(self, words: str) -> None:
        self.stdout.write(f"  {words}")
        self.stdout.flush()

    def _finished_round(self) -> str:
        found = finished_rounds().first()
        if found is None:
            raise CommandError("The demo has no finished round.")
        return found.slug

    def _print_sign_ins(self, address: str) -> None:
        self.stdout.write(f"\nThe site: http://{address}   Everybody's password: {PASSWORD}")
        people = Member.objects.in_bulk([number for number, _role in PEOPLE], field_name="number")
        for number, role in PEOPLE:
            self.stdout.write(f"  {people[number].email:<36} {people[number].name}, {role}")
