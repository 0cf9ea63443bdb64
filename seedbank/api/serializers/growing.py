"""What a grower sends of plants, crosses, flowers and capsules."""

from typing import Any

from rest_framework import serializers

from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.visibility import Visibility
from crosses.facts.pollination import POLLINATION
from crosses.models import Check, Cross, Harvest, Plant
from crosses.models.pollination import PollenState
from seedbank.api.serializers.facts import ChangedFacts, SentFacts
from seedbank.api.serializers.writing import MOST_SEEDS, NumberField, Sent

MOST_FLOWERS = 32_000
_WHY = "Why it is changed; it stands in the record's history."


def _words(longest: int) -> Any:
    return serializers.CharField(max_length=longest, required=False, allow_blank=True)


def _day() -> Any:
    return serializers.DateField(required=False, allow_null=True)


def _count(most: int = MOST_FLOWERS, least: int = 1) -> Any:
    return serializers.IntegerField(min_value=least, max_value=most, required=False)


class NewPlantSerializer(Sent):
    name = serializers.CharField(source="name_text", max_length=200)
    own_label = _words(40)
    taxon = serializers.IntegerField(required=False, help_text="Its id in taxa/.")
    origin = serializers.ChoiceField(choices=Plant.Origin.choices, required=False)
    raised_from = NumberField("cross", required=False)
    propagated_from = NumberField("plant", required=False)
    wild_where = _words(200)
    wild_country = serializers.ChoiceField(choices=COUNTRY_CHOICES, required=False)
    wild_on = _day()
    wild_permit = _words(120)
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)
    style_form = serializers.ChoiceField(choices=Plant.StyleForm.choices, required=False)
    chromosome_sets = serializers.IntegerField(
        source="ploidy", min_value=1, max_value=16, required=False, allow_null=True
    )
    fertility_notes = _words(5000)
    acquired_on = _day()


class ChangedPlantSerializer(Sent):
    why = serializers.CharField(max_length=100, help_text=_WHY)
    name = serializers.CharField(source="name_text", max_length=200, required=False)
    own_label = _words(40)
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)
    style_form = serializers.ChoiceField(
        choices=Plant.StyleForm.choices, required=False, allow_blank=True
    )
    chromosome_sets = serializers.IntegerField(
        source="ploidy", min_value=1, max_value=16, required=False, allow_null=True
    )
    fertility_notes = _words(5000)
    acquired_on = _day()
    died_on = _day()


class PartSerializer(Sent):
    plant = NumberField("plant")
    parts = serializers.IntegerField(min_value=1, max_value=MOST_FLOWERS)


class NewCrossSerializer(Sent):
    own_number = serializers.CharField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="As on your tag; left out: your next of the season.",
    )
    season = serializers.IntegerField(min_value=1800, max_value=2200)
    seed_parent = NumberField("plant")
    pollen = serializers.ChoiceField(choices=Cross.Pollen.choices, default=Cross.Pollen.PLANT)
    pollen_parent = NumberField("plant", required=False)
    mixture = PartSerializer(many=True, required=False, help_text="The plants of mixed pollen.")
    aim = _words(5000)
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)


class ChangedCrossSerializer(Sent):
    """The parents of a cross are not changed: seed, tags and seedlings hang on them."""

    why = serializers.CharField(max_length=100, help_text=_WHY)
    own_number = serializers.CharField(max_length=40, required=False)
    aim = _words(5000)
    visibility = serializers.ChoiceField(choices=Visibility.choices, required=False)


class NewPollinationSerializer(SentFacts):
    declared = POLLINATION

    cross = NumberField("cross", help_text="The cross it is for, planned before.")


class ChangedPollinationSerializer(ChangedFacts):
    declared = POLLINATION


class NewCheckSerializer(Sent):
    seen_on = serializers.DateField()
    kind = serializers.ChoiceField(choices=Check.Kind.choices)
    flowers = serializers.IntegerField(
        min_value=1,
        max_value=MOST_FLOWERS,
        required=False,
        help_text="Of how many; left out: of all that are still open questions.",
    )
    note = _words(200)


class NewTouchUpSerializer(Sent):
    done_on = serializers.DateField()
    pollen_state = serializers.ChoiceField(choices=PollenState.choices, required=False)
    note = _words(200)


class CapsulesSerializer(Sent):
    pollination = NumberField("pollination")
    capsules = serializers.IntegerField(min_value=1, max_value=MOST_FLOWERS)


class SampleSerializer(Sent):
    seeds = serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)
    grams = serializers.DecimalField(max_digits=9, decimal_places=4, min_value=0)


class NewHarvestSerializer(Sent):
    cross = NumberField("cross")
    harvested_on = serializers.DateField()
    capsules = CapsulesSerializer(many=True)
    seed_counting = serializers.ChoiceField(choices=Harvest.SeedCounting.choices)
    seeds = _count(MOST_SEEDS, 0)
    samples = SampleSerializer(
        many=True, required=False, help_text="Counted and weighed, where seed is reckoned so."
    )
    clean_grams = serializers.DecimalField(
        max_digits=9, decimal_places=4, min_value=0, required=False
    )
    was_forced = serializers.BooleanField(required=False)
    identified_by = serializers.ChoiceField(choices=Harvest.IdentifiedBy.choices, required=False)
    certainty_percent = serializers.IntegerField(min_value=0, max_value=100, required=False)
    note = _words(5000)
