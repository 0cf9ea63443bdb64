"""Lots, places and packets, the smallest valid ones; packets are made by the act that makes them."""

import datetime

import factory
from factory.django import DjangoModelFactory

from seedbank.bank.actions.packet import make_packets
from seedbank.bank.models import Donation, DonationLine, Lot, Packet, Place
from tests.factories.members import MemberFactory

MADE_AT = datetime.datetime(2026, 1, 10, 9, tzinfo=datetime.UTC)


class PlaceFactory(DjangoModelFactory):
    """A place of the bank, unless it is given an owner."""

    class Meta:
        model = Place

    code = factory.Sequence(lambda n: f"A-{n:03d}")


class LotFactory(DjangoModelFactory):
    """A lot of the member who raised it; `owner=None` makes it the bank's."""

    class Meta:
        model = Lot

    number = factory.Sequence(lambda n: f"L9{n:05d}-00")
    name_text = "Primula vulgaris"
    raised_by = factory.SubFactory(MemberFactory)
    owner = factory.SelfAttribute("raised_by")
    year = 2025


class DonationFactory(DjangoModelFactory):
    class Meta:
        model = Donation

    number = factory.Sequence(lambda n: f"D9{n:05d}-00")
    donor = factory.SubFactory(MemberFactory)
    offered_at = MADE_AT


class DonationLineFactory(DjangoModelFactory):
    class Meta:
        model = DonationLine

    donation = factory.SubFactory(DonationFactory)
    lot = factory.SubFactory(LotFactory, raised_by=factory.SelfAttribute("..donation.donor"))
    packets_offered = 1


def packets_of(
    lot: Lot, how_many: int = 1, *, seeds_each: int = 25, place: Place | None = None
) -> list[Packet]:
    """Make packets of a lot: with its owner, or in the store if the lot is the bank's."""
    if lot.owner is None and place is None:
        place = PlaceFactory()
    return make_packets(
        lot=lot, how_many=how_many, seeds_each=seeds_each, by=lot.raised_by, at=MADE_AT, place=place
    )


def packet_in_store(**lot_facts: object) -> Packet:
    """One packet in the bank's store, ready to be promised."""
    return packets_of(LotFactory(owner=None, **lot_facts))[0]
