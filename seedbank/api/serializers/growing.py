"""What a grower sends of plants, crosses, flowers and capsules."""

from rest_framework import serializers

from crosses.facts.capsule import CHECK
from crosses.facts.cross import CROSS
from crosses.facts.harvest import HARVEST
from crosses.facts.plant import PLANT
from crosses.facts.pollination import POLLINATION
from crosses.models import Harvest
from crosses.models.pollination import PollenState
from seedbank.api.serializers.facts import ChangedFacts, SentFacts
from seedbank.api.serializers.writing import MOST_SEEDS, NumberField, Sent

MOST_FLOWERS = 32_000


class NewPlantSerializer(SentFacts):
    declared = PLANT

    taxon = serializers.IntegerField(required=False, help_text="Its id in taxa/.")
    raised_from = NumberField("cross", required=False)
    propagated_from = NumberField("plant", required=False)


class ChangedPlantSerializer(ChangedFacts):
    declared = PLANT


class PartSerializer(Sent):
    plant = NumberField("plant")
    parts = serializers.IntegerField(min_value=1, max_value=MOST_FLOWERS)


class NewCrossSerializer(SentFacts):
    declared = CROSS

    own_number = serializers.CharField(
        max_length=40,
        required=False,
        allow_blank=True,
        default="",
        help_text="As on your tag; left out: your next of the season.",
    )
    seed_parent = NumberField("plant")
    pollen_parent = NumberField("plant", required=False)
    mixture = PartSerializer(many=True, required=False, help_text="The plants of mixed pollen.")


class ChangedCrossSerializer(ChangedFacts):
    """The parents of a cross are not changed: seed, tags and seedlings hang on them."""

    declared = CROSS


class NewPollinationSerializer(SentFacts):
    declared = POLLINATION

    cross = NumberField("cross", help_text="The cross it is for, planned before.")


class ChangedPollinationSerializer(ChangedFacts):
    declared = POLLINATION


class NewCheckSerializer(SentFacts):
    declared = CHECK


class NewTouchUpSerializer(Sent):
    done_on = serializers.DateField()
    pollen_state = serializers.ChoiceField(choices=PollenState.choices, required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class CapsulesSerializer(Sent):
    pollination = NumberField("pollination")
    capsules = serializers.IntegerField(min_value=1, max_value=MOST_FLOWERS)


class SampleSerializer(Sent):
    seeds = serializers.IntegerField(min_value=1, max_value=MOST_SEEDS)
    grams = serializers.DecimalField(max_digits=9, decimal_places=4, min_value=0)


class NewHarvestSerializer(SentFacts):
    declared = HARVEST

    cross = NumberField("cross")
    # A page offers what is usual; a script says how it knows the seed.
    seed_counting = serializers.ChoiceField(choices=Harvest.SeedCounting.choices)
    capsules = CapsulesSerializer(many=True)
    samples = SampleSerializer(
        many=True, required=False, help_text="Counted and weighed, where seed is reckoned so."
    )
    clean_grams = serializers.DecimalField(
        max_digits=9, decimal_places=4, min_value=0, required=False
    )
