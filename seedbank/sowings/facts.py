"""What is declared of sowings and counts. Both are withdrawn and logged again, not corrected."""

from crosses.base.facts import Fact, RecordFacts
from seedbank.sowings.models import Count, Sowing

SOWING = RecordFacts(
    Sowing,
    owner="grower_id",
    facts=(
        Fact(
            name="sown_on",
            label="Sown on",
            when_corrected=False,
            also=("date",),
            cell="The day of the sowing.",
        ),
        Fact(
            name="seeds_sown",
            label="Seeds sown",
            when_corrected=False,
            also=("seeds",),
            cell="Seeds in all pots together.",
        ),
        Fact(name="purpose", label="Purpose", when_corrected=False, cell="Empty: grow."),
        Fact(
            name="where",
            label="Where it stands",
            when_corrected=False,
            for_owner_only=True,
            cell="Where it stands.",
        ),
        Fact(name="medium", label="Medium", when_corrected=False, cell="What it was sown in."),
        Fact(name="light", label="Light", when_corrected=False, cell="Empty: not said."),
        Fact(
            name="temperature_low_celsius",
            label="Temperature from",
            unit="°C",
            when_corrected=False,
            cell="The cooler one.",
        ),
        Fact(
            name="temperature_high_celsius",
            label="Temperature to",
            unit="°C",
            when_corrected=False,
            cell="The warmer one.",
        ),
        Fact(
            name="visibility",
            label="Who may see it",
            when_corrected=False,
            for_owner_only=True,
            cell="Who may see it; empty: the society.",
        ),
        Fact(
            name="note",
            label="Note",
            when_corrected=False,
            for_owner_only=True,
            cell="What else is worth knowing.",
        ),
    ),
)

# The number of a look is told as new or as all so far, and kept as both.
COUNT = RecordFacts(
    Count,
    owner="replicate.sowing.grower_id",
    facts=(
        Fact(
            name="counted_on",
            label="Looked at on",
            when_corrected=False,
            also=("date",),
            cell="The day of the look.",
        ),
        Fact(
            name="typed_as",
            label="This number is",
            when_corrected=False,
            told="New since the last look, or all so far.",
        ),
        Fact(name="note", label="Note", when_corrected=False, cell="What else was seen."),
    ),
)
