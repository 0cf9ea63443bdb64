"""What is sent of lots, packets, donations, wishes and lines of the list."""

from typing import Any

from rest_framework import serializers

from seedbank.api.serializers.facts import ChangedFacts, SentFacts
from seedbank.api.serializers.writing import MOST_SEEDS, NumberField, Sent
from seedbank.bank.facts import DONATION, LOT, PACKET
from seedbank.bank.models import DonationLine
from seedbank.exchange.facts import LINE

MOST_PACKETS = 2000
LONGEST_LIST = 500


def _line() -> Any:
    return serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)


class NewLotSerializer(SentFacts):
    """Seed of a harvest, or with its name, year and origin where no harvest is recorded."""

    declared = LOT

    harvest = NumberField("harvest", required=False)
    name = serializers.CharField(source="name_text", max_length=300, required=False)
    year = serializers.IntegerField(min_value=1800, max_value=2200, required=False)
    taxon = serializers.IntegerField(required=False, help_text="Its id in taxa/.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        needed = () if "harvest" in attrs else ("name_text", "year", "origin")
        if missing := [name for name in needed if name not in attrs]:
            words = "Say this, or name the harvest."
            raise serializers.ValidationError(
                {name.removesuffix("_text"): [words] for name in missing}
            )
        return attrs


class ChangedLotSerializer(ChangedFacts):
    declared = LOT


class NewPacketsSerializer(SentFacts):
    declared = PACKET

    how_many = serializers.IntegerField(min_value=1, max_value=MOST_PACKETS)
    seeds_each = serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)
    place = serializers.CharField(
        max_length=20,
        required=False,
        help_text="The code of one of your places; of the bank's for the bank's seed.",
    )
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class OfferedSerializer(Sent):
    lot = NumberField("lot")
    packets = serializers.IntegerField(min_value=1, max_value=MOST_PACKETS)


class NewDonationSerializer(SentFacts):
    declared = DONATION

    lines = OfferedSerializer(many=True)


class AnswerSerializer(Sent):
    answer = serializers.ChoiceField(
        choices=[each for each in DonationLine.Answer.choices if each[0] != "waiting"]
    )
    packets_received = serializers.IntegerField(
        min_value=1, max_value=MOST_PACKETS, required=False, help_text="If it is accepted."
    )
    place = serializers.CharField(
        max_length=20, required=False, help_text="The code of the bank's place, if accepted."
    )
    reason = serializers.CharField(
        max_length=300, required=False, help_text="If it is declined; the donor reads it."
    )


class SentWishesSerializer(Sent):
    """The whole list, most wanted first; it takes the place of the list before."""

    main = serializers.ListField(child=_line(), max_length=LONGEST_LIST, help_text="Line numbers.")
    reserve = serializers.ListField(child=_line(), max_length=LONGEST_LIST, default=list)


class NewLineSerializer(Sent):
    lot = NumberField("lot")


class ChangedLineSerializer(SentFacts):
    declared = LINE
    is_for_making = False

    withdrawn = serializers.CharField(
        max_length=300, required=False, help_text="Withdraws the line; the reason members read."
    )
