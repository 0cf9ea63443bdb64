"""Print the slips of a round, one file a parcel: `manage.py slips ROUND --to FOLDER`."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from crosses.base.pdf_many import Document, render_many
from seedbank.exchange.models import Parcel, Round
from seedbank.exchange.queries.slip import slips_for
from seedbank.exchange.slip import slip_html
from seedbank.members.models import Member


class Command(BaseCommand):
    help = "Write the packing slip of every parcel of a round into a folder."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("round", help="short name of the round")
        parser.add_argument("--to", required=True, help="folder for the PDF files")
        parser.add_argument(
            "--anew", action="store_true", help="print those that are there already too"
        )

    def handle(self, **options: Any) -> None:
        found = Round.objects.filter(slug=options["round"]).first()
        if found is None:
            raise CommandError(f"There is no round {options['round']}.")
        folder = Path(options["to"])
        folder.mkdir(parents=True, exist_ok=True)
        jobs = self._jobs(found, folder, anew=options["anew"])
        if not jobs:
            self.stdout.write(f"All slips are in {folder} already.")
            return
        for done, _path in enumerate(render_many(jobs, len(jobs)), start=1):
            if done % 20 == 0 or done == len(jobs):
                self.stdout.write(f"  {done} of {len(jobs)} slips printed")
                self.stdout.flush()
        self.stdout.write(f"The slips are in {folder}")

    def _jobs(self, found: Round, folder: Path, *, anew: bool) -> list[Document]:
        parcels = [
            parcel
            for parcel in Parcel.objects.filter(round=found, cancelled_at=None)
            .select_related("round", "member", "packer")
            .order_by("number")
            if anew or not (folder / f"{parcel.number}.pdf").exists()
        ]
        everything = {parcel.pk for parcel in parcels}
        # Whoever runs a command on the server stands in for the keeper, who may see every address.
        viewer = found.opened_by
        assert isinstance(viewer, Member)  # noqa: S101  the user model of this service
        slips = slips_for(parcels, viewer, with_address=everything)
        return [
            (folder / f"{slip.parcel_number}.pdf", slip_html(slip), "slip.css") for slip in slips
        ]
