from crosses.base.facts import Fact, RecordFacts
from crosses.models import Cross

CROSS = RecordFacts(
    Cross,
    owner="grower_id",
    facts=(
        Fact(
            name="own_number",
            label="Your number",
            also=("number",),
            cell="Your number, as on the tag; with season and grower it names the cross.",
        ),
        Fact(
            name="season",
            label="Season (year)",
            when_corrected=False,
            also=("year",),
            cell="The year of the pollination.",
        ),
        Fact(
            name="pollen",
            label="Pollen from",
            when_corrected=False,
            cell="Where the pollen came from; empty: one plant.",
        ),
        Fact(
            name="aim",
            label="What you hope for",
            for_owner_only=True,
            cell="What it is made for.",
        ),
        Fact(
            name="visibility",
            label="Who may see it",
            for_owner_only=True,
            cell="Who may see it; empty: the society.",
        ),
    ),
)
