"""What is declared of lots, packets, donations and places."""

from crosses.base.facts import Fact, RecordFacts
from seedbank.bank.models import Donation, Lot, Packet, Place

LOT = RecordFacts(
    Lot,
    owner="owner_id",
    links=("taxon",),
    facts=(
        Fact(
            name="name_text",
            label="Name as written",
            help="Seed parent first: Primula veris × P. vulgaris.",
            api="name",
            heading="name",
        ),
        Fact(
            name="origin",
            label="Origin",
            cell="Where the seed comes from; empty: unknown.",
        ),
        Fact(
            name="wild_where",
            label="Where it was collected",
            for_owner_only=True,
            cell="Where it was collected; only of seed from the wild.",
        ),
        Fact(
            name="wild_country",
            label="Country where it was collected",
            told="ISO 3166-1, two letters; else empty.",
            cell="Two letters of that country, such as FR.",
        ),
        Fact(
            name="wild_permit",
            label="Permit",
            for_owner_only=True,
            cell="The permit under which it was collected.",
        ),
        Fact(name="year", label="Year of harvest"),
        Fact(
            name="collected_on",
            label="Collected on",
            api="harvested_on",
            cell="The day of harvest.",
        ),
        Fact(name="cleaned_on", label="Cleaned on", cell="The day it was cleaned."),
        Fact(
            name="drying_note",
            label="How it was dried",
            for_owner_only=True,
            cell="How it was dried.",
        ),
        Fact(
            name="seed_counting",
            label="Seeds are",
            cell="How the seeds are known; empty: counted, or not yet where no number stands.",
        ),
        Fact(name="seeds", label="Number of seeds", cell="How many seeds it had."),
        Fact(
            name="seeds_low",
            label="At least",
            help="With an estimate: the lower end of its interval.",
            is_imported=False,
        ),
        Fact(name="seeds_high", label="At most", help="And the upper end.", is_imported=False),
        Fact(
            name="thousand_seed_weight_grams",
            label="Thousand-seed weight, grams",
            cell="What a thousand seeds weigh, in grams.",
        ),
        Fact(
            name="storage_temperature_celsius",
            label="Kept at",
            unit="°C",
            cell="At what it is kept.",
        ),
        Fact(
            name="storage_moisture_percent",
            label="Seed moisture",
            unit="%",
            cell="Water in the seed.",
        ),
        Fact(
            name="storage_humidity_percent",
            label="Air humidity",
            unit="%",
            cell="Humidity of the air where it is kept.",
        ),
        Fact(
            name="hazard_note",
            label="Caution",
            help="If the seed or plant can hurt: it is printed on every label.",
            also=("caution",),
            cell="What to beware of: poisonous, irritates the skin.",
        ),
        Fact(name="note", label="Note", for_owner_only=True, cell="What else is worth knowing."),
        # A table must not show the seed of a cross that is its grower's own.
        Fact(
            name="visibility",
            label="Who may see it",
            for_owner_only=True,
            is_imported=False,
        ),
    ),
)

# What is asked of seed that is given without records.
OFFERED = LOT.only(
    "name_text",
    "year",
    "origin",
    "wild_where",
    "wild_country",
    "wild_permit",
    "hazard_note",
    "note",
)

# What a packet holds is told when it is made; the rest its movements tell.
PACKET = RecordFacts(
    Packet,
    owner="holder_id",
    facts=(
        Fact(
            name="is_pinch",
            label="Dust seed: a pinch each, the number is a guess",
            when_corrected=False,
            told="A pinch of dust seed, not counted.",
            cell="A pinch of dust seed; empty: no.",
        ),
    ),
)

DONATION = RecordFacts(
    Donation,
    owner="donor_id",
    facts=(
        Fact(
            name="note",
            label="Note for the keeper",
            when_corrected=False,
            cell="What the donor wrote.",
        ),
    ),
)

PLACE = RecordFacts(
    Place,
    owner="owner_id",
    facts=(
        Fact(
            name="code",
            label="Code",
            help="Short, as written on the tray: A-03.",
            cell="As written on the tray.",
        ),
        Fact(name="name", label="What it is", cell="What it is."),
        Fact(
            name="walk_order",
            label="Order on the way through the store",
            help="Pick lists follow this order, then the code.",
            cell="In which order one walks by.",
        ),
        Fact(
            name="temperature_celsius",
            label="Temperature",
            unit="°C",
            cell="How cold it is there.",
        ),
    ),
)
