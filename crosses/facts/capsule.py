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
            help="How many of them show it that day. Empty: all that have set, or before any has all"
            " that are open.",
            when_corrected=False,
            told="Of how many that day; left out: of what only a capsule shows, of all known to have"
            " set; else of all that are still open questions.",
            cell="Of how many flowers that day; empty: all that have set, before any has all open.",
        ),
        Fact(
            name="note",
            label="Note",
            when_corrected=False,
            cell="What else is worth knowing.",
        ),
    ),
)
