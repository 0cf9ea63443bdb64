from crosses.base.facts import Fact, RecordFacts
from crosses.models import Check

# A look is taken back, not corrected.
CHECK = RecordFacts(
    Check,
    owner="pollination.cross.grower_id",
    facts=(
        Fact(
            name="seen_on",
            label="Day",
            when_corrected=False,
            also=("date",),
            cell="The day of the look.",
        ),
        Fact(
            name="kind",
            label="What you see",
            when_corrected=False,
            also=("seen",),
            cell="What was seen.",
        ),
        Fact(
            name="flowers",
            label="On how many",
            help="Empty: on all that are still open.",
            when_corrected=False,
            told="Of how many; left out: of all that are still open questions.",
            cell="Of how many flowers; empty: all still open.",
        ),
        Fact(
            name="note",
            label="Note",
            when_corrected=False,
            cell="What else is worth knowing.",
        ),
    ),
)
