"""What the first page shows each member: what wants doing now."""

import datetime
from dataclasses import dataclass

from seedbank.bank.access import donations_visible_to
from seedbank.bank.models import DonationLine
from seedbank.exchange.access import parcels_visible_to, rounds_visible_to
from seedbank.exchange.models import Parcel, Round
from seedbank.exchange.queries.packing import Progress, progress_of
from seedbank.exchange.queries.round import Counts, Stage, round_counts, stage_of
from seedbank.exchange.queries.wishes import wish_list_of
from seedbank.members.models import Member

# What the keeper does next: url name of a round's page and the words on it.
NEXT_FOR_KEEPER = {
    "donating": ("list-edit", "Put lots on the list"),
    "preparing": ("list-edit", "Make the list and publish it"),
    "listed": ("list-page", "Read the list through before it opens"),
    "wishing": ("allocation", "See what would be short"),
    "sharing": ("allocation", "Share out"),
    "announced": ("packing", "Pack and post"),
}


@dataclass(frozen=True)
class RoundNow:
    """The latest exchange as one member stands in it."""

    round: Round
    stage: Stage
    wishes: int
    parcel: Parcel | None


@dataclass(frozen=True)
class Keeping:
    """What waits for the seed keeper."""

    donations: int
    counts: Counts | None
    next_url_name: str
    next_words: str


@dataclass(frozen=True)
class Packing:
    """How far the packing is, and what this packer has in hand."""

    progress: Progress
    in_hand: tuple[Parcel, ...]


def round_now(member: Member, at: datetime.datetime) -> RoundNow | None:
    """Return the latest round; rounds stand in order of their list's opening."""
    latest = rounds_visible_to(member).first()
    if latest is None:
        return None
    wishes = wish_list_of(latest, member)
    parcels = parcels_visible_to(member).filter(round=latest, member=member, cancelled_at=None)
    return RoundNow(
        round=latest,
        stage=stage_of(latest, at),
        wishes=len(wishes.wishes.all()) if wishes else 0,
        parcel=parcels.last() if latest.is_announced else None,
    )


def keeping_of(keeper: Member, latest: RoundNow | None) -> Keeping:
    waiting = donations_visible_to(keeper).filter(
        lines__answer=DonationLine.Answer.WAITING, withdrawn_at=None
    )
    url_name, words = NEXT_FOR_KEEPER[latest.stage.code] if latest else ("", "")
    return Keeping(
        donations=waiting.distinct().count(),
        counts=round_counts(latest.round) if latest else None,
        next_url_name=url_name,
        next_words=words,
    )


def packing_of(packer: Member) -> Packing:
    """Only what is announced is packed."""
    parcels = parcels_visible_to(packer).filter(round__announced_at__isnull=False)
    in_hand = parcels.filter(packer=packer, closed_at=None, cancelled_at=None)
    return Packing(progress_of(parcels.filter(posted_on=None)), tuple(in_hand.order_by("number")))
