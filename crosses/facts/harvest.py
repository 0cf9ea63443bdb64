from crosses.base.facts import Fact, RecordFacts
from crosses.models import Harvest

# What is corrected of a harvest is the count of its seeds.
HARVEST = RecordFacts(
    Harvest,
    owner="cross.grower_id",
    facts=(
        Fact(
            name="harvested_on",
            label="Day",
            when_corrected=False,
            also=("date",),
            cell="The day of harvest.",
        ),
        Fact(
            name="was_forced",
            label="cut before it was ripe",
            when_corrected=False,
            cell="Cut before it was ripe; empty: no.",
        ),
        Fact(
            name="identified_by",
            label="You know the cross by",
            when_corrected=False,
            cell="By what the flower was known again; empty: the tag.",
        ),
        Fact(
            name="certainty_percent",
            label="How sure, percent",
            when_corrected=False,
            cell="How sure the parents are.",
        ),
        Fact(
            name="seed_counting",
            label="Seeds are",
            cell="How the seeds are known; empty: counted.",
        ),
        Fact(name="seeds", label="Seeds", cell="Seeds of all capsules together."),
        Fact(
            name="clean_grams",
            label="All the clean seed, grams",
            help="With the samples put back.",
            cell="Weight of all clean seed.",
        ),
        Fact(
            name="note",
            label="Note",
            when_corrected=False,
            cell="What else is worth knowing.",
        ),
    ),
)
