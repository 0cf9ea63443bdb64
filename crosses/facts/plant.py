from crosses.base.facts import Fact, RecordFacts
from crosses.models import Plant

PLANT = RecordFacts(
    Plant,
    owner="keeper_id",
    links=("taxon", "raised_from", "propagated_from"),
    facts=(
        Fact(
            name="name_text",
            label="Name as written",
            help="As you would write it on its label: Primula 'Oddwater Lemon'.",
            api="name",
            heading="name",
            also=("name as written",),
            cell="Its name as it is written.",
        ),
        Fact(
            name="own_label",
            label="Your own label",
            for_owner_only=True,
            heading="label",
        ),
        Fact(
            name="origin",
            label="Origin",
            cell="Where it comes from; empty: told from the cross or plant it was raised from.",
        ),
        Fact(
            name="wild_where",
            label="Where it was collected",
            for_owner_only=True,
            cell="Where it was collected; only of a plant from the wild.",
        ),
        Fact(
            name="wild_country",
            label="Wild country",
            told="ISO 3166-1, two letters; else empty.",
            cell="Two letters of that country, such as FR.",
        ),
        Fact(
            name="wild_on",
            label="When it was collected",
            for_owner_only=True,
            cell="When it was collected.",
        ),
        Fact(
            name="wild_permit",
            label="Permit",
            for_owner_only=True,
            cell="The permit under which it was collected.",
        ),
        Fact(
            name="style_form",
            label="Style form",
            help="Primulas and their like: long or short style.",
            also=("form",),
            cell="Long or short style, of primulas.",
        ),
        Fact(
            name="ploidy",
            label="Chromosome sets",
            help="2 diploid, 3 triploid, 4 tetraploid. Leave empty if not known.",
            api="chromosome_sets",
            cell="Chromosome sets: 2, 4.",
        ),
        Fact(
            name="stated_inbreeding",
            label="Stated inbreeding",
            help="For a founder only: 1 for a pure line.",
            told="For a founder only: 1 for a pure line.",
            for_owner_only=True,
            cell="Of a founder only: 1 for a pure line.",
        ),
        Fact(
            name="fertility_notes",
            label="Fertility notes",
            for_owner_only=True,
            cell="What is known of its fertility.",
        ),
        Fact(name="acquired_on", label="Acquired on", cell="When the keeper got it."),
        Fact(name="died_on", label="Died on", cell="When it died."),
        Fact(
            name="visibility",
            label="Visibility",
            for_owner_only=True,
            cell="Who may see it; empty: the society.",
        ),
    ),
)
