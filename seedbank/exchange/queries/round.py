"""What the pages of a round show: where in the year it stands, and what a member may have of it."""

import datetime
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from crosses.base.countries import COUNTRY_NAMES
from seedbank.bank.models import DonationLine
from seedbank.exchange.models import Round
from seedbank.members.models import Member

A_YEAR = datetime.timedelta(days=366)


@dataclass(frozen=True, slots=True)
class Stage:
    """Where a round stands; `code` is for templates, `words` for people."""

    code: str
    words: str


@dataclass(frozen=True, slots=True)
class Allowance:
    """How many packets a member may have, and why."""

    packets: int
    reserves: int
    is_donor: bool
    lots_given: int
    words: str


def stage_of(round: Round, at: datetime.datetime) -> Stage:
    if round.is_announced:
        return Stage("announced", "Shared out. Everybody can read what they got, and why.")
    if not round.is_published:
        if round.donations_close_at and at < round.donations_close_at:
            return Stage("donating", "Seed is being given; the list comes later.")
        return Stage("preparing", "The list is being made.")
    if at < round.list_opens_at:
        return Stage("listed", "The list is ready and opens on its day.")
    if at < round.wishes_close_at:
        return Stage("wishing", "The list is open: rank what you would like.")
    return Stage("sharing", "Wishes have closed; the seed is being shared out.")


def offers_counted(round: Round) -> QuerySet[DonationLine]:
    """Lines offered in the year before the donations of a round close.

    A year, and not "since the last round", so that a surplus round in spring still knows the
    donors of the autumn.
    """
    end = round.donations_close_at or round.list_opens_at
    return DonationLine.objects.filter(
        donation__withdrawn_at=None,
        donation__offered_at__lte=end,
        donation__offered_at__gt=end - A_YEAR,
    )


def lots_given_by_member(round: Round) -> dict[int, int]:
    """Count each donor's accepted lots among the offers that count for a round."""
    given = (
        offers_counted(round)
        .filter(answer=DonationLine.Answer.ACCEPTED)
        .values("donation__donor_id")
        .annotate(lots=Count("lot_id", distinct=True))
        .order_by()
    )
    return {row["donation__donor_id"]: row["lots"] for row in given}


def allowance_from(round: Round, lots_given: int, country: str) -> Allowance:
    is_donor = lots_given >= round.donor_from_lots
    base = round.country_allowances.get(country, round.allowance)
    packets = base + (round.donor_extra if is_donor else 0)
    there = f" in {COUNTRY_NAMES[country]}" if country in round.country_allowances else ""
    if is_donor:
        gave = "1 lot" if lots_given == 1 else f"{lots_given} lots"
        words = f"You gave {gave}, so you{there} may have {packets} packets."
    else:
        words = f"You{there} may have {packets} packets."
    return Allowance(packets, round.reserves, is_donor, lots_given, words)


def allowance_of(round: Round, member: Member) -> Allowance:
    return allowance_from(round, lots_given_by_member(round).get(member.pk, 0), member.country)


def country_allowances_in_words(round: Round) -> list[tuple[str, int]]:
    """Return the countries with an allowance of their own, by name."""
    return sorted(
        (COUNTRY_NAMES[country], packets) for country, packets in round.country_allowances.items()
    )


@dataclass(frozen=True, slots=True)
class Counts:
    """How large a round is by now."""

    lines: int
    wish_lists: int
    wishes: int
    parcels: int


def round_counts(round: Round) -> Counts:
    lists = round.wish_lists.filter(cancelled_at=None)
    return Counts(
        lines=round.lines.count(),
        wish_lists=lists.count(),
        wishes=lists.aggregate(wishes=Count("wishes"))["wishes"],
        parcels=round.parcels.filter(cancelled_at=None).count(),
    )
