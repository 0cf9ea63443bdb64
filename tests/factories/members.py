"""Members, the smallest valid ones."""

import factory
from factory.django import DjangoModelFactory

from seedbank.members.models import Address, Household, Member


class MemberFactory(DjangoModelFactory):
    class Meta:
        model = Member

    number = factory.Sequence(lambda n: f"1{n:04d}")
    name = factory.Sequence(lambda n: f"Member {n}")
    email = factory.Sequence(lambda n: f"member{n}@example.org")
    country = "GB"


class HouseholdFactory(DjangoModelFactory):
    class Meta:
        model = Household

    name = factory.Sequence(lambda n: f"Household {n}")


class AddressFactory(DjangoModelFactory):
    class Meta:
        model = Address

    member = factory.SubFactory(MemberFactory)
    lines = "1 Trough Lane\nMuchly-in-the-Moss"
    country = "GB"
