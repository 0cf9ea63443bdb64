"""What is sent of lots, packets, donations, wishes and lines of the list."""

from typing import Any

from rest_framework import serializers

from crosses.base.visibility import Visibility
from seedbank.api.serializers.writing import MOST_SEEDS, NumberField, Sent
from seedbank.bank.models import DonationLine, Lot

MOST_PACKETS = 2000
LONGEST_LIST = 500


def _line() -> Any:
    return serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)


def _decimal() -> Any:
    return serializers.DecimalField(max_digits=4, decimal_places=1, required=False, allow_null=True)


class StoredFacts(Sent):
    cleaned_on = serializers.DateField(required=False, allow_null=True)
    drying_note = serializers.CharField(max_length=200, required=False, allow_blank=True)
    storage_temperature_celsius = _decimal()
    storage_moisture_percent = _decimal()
    storage_humidity_percent = _decimal()
    hazard_note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    note = serializers.CharField(max_length=5000, required=False, allow_blank=True)
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)


class NewLotSerializer(StoredFacts):
    """Seed of a harvest, or with its name, year and origin where no harvest is recorded."""

    harvest = NumberField("harvest", required=False)
    name = serializers.CharField(source="name_text", max_length=300, required=False)
    year = serializers.IntegerField(min_value=1800, max_value=2200, required=False)
    origin = serializers.ChoiceField(choices=Lot.Origin.choices, required=False)
    taxon = serializers.IntegerField(required=False, help_text="Its id in taxa/.")
    harvested_on = serializers.DateField(source="collected_on", required=False)
    seed_counting = serializers.ChoiceField(choices=Lot.SeedCounting.choices, required=False)
    seeds = serializers.IntegerField(min_value=0, max_value=MOST_SEEDS, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        needed = () if "harvest" in attrs else ("name_text", "year", "origin")
        if missing := [name for name in needed if name not in attrs]:
            words = "Say this, or name the harvest."
            raise serializers.ValidationError(
                {name.removesuffix("_text"): [words] for name in missing}
            )
        return attrs


class ChangedLotSerializer(StoredFacts):
    why = serializers.CharField(
        max_length=100, help_text="Why it is changed; it stands in the record's history."
    )


class NewPacketsSerializer(Sent):
    how_many = serializers.IntegerField(min_value=1, max_value=MOST_PACKETS)
    seeds_each = serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)
    is_pinch = serializers.BooleanField(
        required=False, help_text="A pinch of dust seed, not counted."
    )
    place = serializers.CharField(
        max_length=20,
        required=False,
        help_text="The code of one of your places; of the bank's for the bank's seed.",
    )
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class OfferedSerializer(Sent):
    lot = NumberField("lot")
    packets = serializers.IntegerField(min_value=1, max_value=MOST_PACKETS)


class NewDonationSerializer(Sent):
    lines = OfferedSerializer(many=True)
    note = serializers.CharField(max_length=5000, required=False, allow_blank=True)


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


class ChangedLineSerializer(Sent):
    description = serializers.CharField(max_length=5000, required=False, allow_blank=True)
    packets_kept_back = serializers.IntegerField(
        source="kept_back", min_value=0, max_value=MOST_PACKETS, required=False
    )
    withdrawn = serializers.CharField(
        max_length=300, required=False, help_text="Withdraws the line; the reason members read."
    )
