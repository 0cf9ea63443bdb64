from crosses.base.facts import Fact, RecordFacts
from crosses.models import Pollination

POLLINATION = RecordFacts(
    Pollination,
    owner="cross.grower_id",
    facts=(
        Fact(
            name="pollinated_on",
            label="Day",
            also=("date",),
            cell="The day of the pollen.",
        ),
        Fact(name="pollinated_time", label="Time of day", cell="At what time of the day."),
        Fact(name="flowers", label="Flowers", cell="How many flowers; empty: 1."),
        Fact(name="tool", label="Tool", cell="With what; empty: pick."),
        Fact(name="pollen_state", label="Pollen", cell="Empty: fresh."),
        Fact(
            name="pollen_stored_how",
            label="Stored how",
            help="Freezer, silica gel ...",
            cell="How pollen was kept, where it was stored.",
        ),
        Fact(name="pollen_stored_days", label="Stored how many days", cell="For how many days."),
        Fact(
            name="pollen_seen",
            label="pollen was found",
            told="Whether pollen was found on the anthers.",
            cell="Whether pollen was found; empty: yes.",
        ),
        Fact(name="is_bagged", label="bagged", also=("bagged",), cell="Empty: no."),
        Fact(name="is_emasculated", label="emasculated", also=("emasculated",), cell="Empty: no."),
        Fact(
            name="air_temperature_celsius",
            label="Air",
            unit="°C",
            cell="Of the air, in degrees Celsius.",
        ),
        Fact(name="note", label="Note", cell="What else is worth knowing."),
    ),
)
