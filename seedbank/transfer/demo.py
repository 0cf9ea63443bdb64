"""Bring the invented society in, and run its finished exchange to the last posted parcel."""

import datetime
from collections.abc import Callable, Iterable
from pathlib import Path

from django.conf import settings
from django.contrib.auth.hashers import make_password

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.bank.models import Packet
from seedbank.exchange.access import may_read_list
from seedbank.exchange.actions.allocation import announce, freeze_inputs, run_allocation
from seedbank.exchange.actions.listing import add_lines, publish_list
from seedbank.exchange.actions.picking import scan, take_in_hand
from seedbank.exchange.actions.posting import close_parcel, post_parcel
from seedbank.exchange.models import Parcel, ParcelItem, Round
from seedbank.exchange.queries.listing import lots_to_list
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Member
from seedbank.transfer.cells import Importing
from seedbank.transfer.importing import import_table
from seedbank.transfer.kinds import KINDS

FOLDER = settings.BASE_DIR / "fixtures" / "demo"
PASSWORD = "primrose path"  # noqa: S105  everybody's, and printed: the society is invented
KEEPER_NUMBER, PACKER_NUMBER = "0002", "0003"
HELD_REASON = "The member abroad has asked the authority there; its answer is enclosed (invented)."
LOTTERY = "04 11 19 23 38 42 (invented)"
FEWEST_TO_LIST = 3
OPEN_ORDERS = 30
Say = Callable[[str], None]


def is_demo_here() -> bool:
    return Member.objects.filter(email="tansy.0001@example.org").exists()


def load_demo(*, at: datetime.datetime, today: datetime.date, say: Say) -> None:
    """Load everything; refuses where another society lives in the database."""
    if Member.objects.exists():
        raise Refused(
            "not-empty", "This database holds a society already; the demo needs an empty one."
        )
    keeper = Member.objects.create_user(
        "ignatius.0002@example.org",
        None,
        number=KEEPER_NUMBER,
        name="Ignatius Plumbline",
        country="GB",
    )
    give_role(member=keeper, role=Role.KEEPER)
    keeper = Member.objects.get(pk=keeper.pk)
    importing = Importing(keeper, at, today, is_demo=True)
    files = sorted(FOLDER.glob("*.csv"))
    before, after = (
        [path for path in files if (path.name < "42") == is_first] for is_first in (True, False)
    )
    _bring_in(before, importing, say)
    finished = Round.objects.get(slug=f"exchange-{importing.season()}")
    publish_list(round=finished, by=keeper, at=_just_before(finished.list_opens_at))
    _bring_in([path for path in after if "wishes" in path.name], importing, say)
    _run_exchange(finished, keeper, say)
    _bring_in([path for path in after if "wishes" not in path.name], importing, say)
    _open_exchange(importing, say)
    hashed = make_password(PASSWORD)
    for member in Member.objects.filter(number__lte="0007"):
        member.password = hashed
        save_with_history(member, by=keeper, why="demo", fields=["password"])


def _bring_in(paths: Iterable[Path], importing: Importing, say: Say) -> None:
    for path in paths:
        kind = KINDS[path.stem.split("-")[1]]
        report = import_table(kind, path.read_bytes(), path.name, importing, is_trial=False)
        say(f"{path.name}: {report.sentence}")
        if report.problems:
            first = report.problems[0]
            raise Refused(
                "demo-broken",
                f"{path.name}, row {first.row_number}, {first.column}: {first.message}",
            )


def _just_before(moment: datetime.datetime) -> datetime.datetime:
    return moment - datetime.timedelta(days=3)


def _run_exchange(finished: Round, keeper: Member, say: Say) -> None:
    """Freeze, draw, share out, announce; then pack and post every parcel by packet number."""
    closed = finished.wishes_close_at
    freeze_inputs(round=finished, by=keeper, at=closed + datetime.timedelta(days=1))
    run = run_allocation(
        round=finished, public_value=LOTTERY, by=keeper, at=closed + datetime.timedelta(days=8)
    )
    announce(round=finished, by=keeper, at=closed + datetime.timedelta(days=9))
    parcels = Parcel.objects.filter(round=finished, cancelled_at=None).order_by("number")
    say(f"shared out by run {run.position}: {parcels.count()} parcels; packing them by number")
    packer = Member.objects.get(number=PACKER_NUMBER)
    packed_at = closed + datetime.timedelta(days=22)
    for parcel in parcels:
        take_in_hand(parcel=parcel, by=packer, at=packed_at)
        numbers = ParcelItem.objects.filter(parcel=parcel, released_at=None)
        for number in numbers.order_by("packet__number").values_list("packet__number", flat=True):
            scan(parcel=parcel, number=number, by=packer, at=packed_at)
        close_parcel(parcel=parcel, by=packer, at=packed_at, held_reason=HELD_REASON)
        post_parcel(
            parcel=parcel, by=packer, at=packed_at, posted_on=packed_at.date(), weight_grams=60
        )
    say("every parcel of the finished round is posted")


def _open_exchange(importing: Importing, say: Say) -> None:
    """List what is left for the round that is open now, and let some members wish."""
    going_on = Round.objects.get(slug=f"exchange-{importing.season() + 1}")
    left = [lot for lot in lots_to_list(going_on) if _in_store(lot.pk) >= FEWEST_TO_LIST]
    at = _just_before(going_on.list_opens_at)
    add_lines(round=going_on, lots=left, by=importing.by, at=at)
    publish_list(round=going_on, by=importing.by, at=at)
    going_on.refresh_from_db()
    if may_read_list(importing.by, going_on, importing.at):
        _wish(going_on, importing, say)


def _in_store(lot: int) -> int:
    return Packet.objects.filter(lot=lot, state=Packet.State.IN_STORE).count()


def _wish(going_on: Round, importing: Importing, say: Say) -> None:
    """Some members have asked already; their lists take the same way in as everybody's."""
    numbers = list(going_on.lines.order_by("line_number").values_list("line_number", flat=True))
    members = Member.objects.filter(country="GB").order_by("number")[10 : 10 + OPEN_ORDERS]
    rows = ["round,member,main,reserve"]
    for place, member in enumerate(members):
        # A walk through the list from a place of one's own, by a step that meets every line.
        walk = [numbers[(place * 7 + step * 11) % len(numbers)] for step in range(18)]
        main = list(dict.fromkeys(walk))
        rows.append(
            f"{going_on.slug},{member.number},{'; '.join(map(str, main[:12]))},"
            f"{'; '.join(map(str, main[12:]))}"
        )
    data = "\r\n".join(rows).encode()
    report = import_table(KINDS["wishes"], data, "wishes.csv", importing, is_trial=False)
    say(f"the round that is open now: {report.sentence}")
