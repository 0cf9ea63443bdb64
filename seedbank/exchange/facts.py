"""What is declared of a line of the list."""

from crosses.base.facts import Fact, RecordFacts
from seedbank.exchange.models import ListLine

# A line is put on the list by its lot alone.
LINE = RecordFacts(
    ListLine,
    facts=(
        Fact(name="description", label="Description", when_made=False, is_imported=False),
        Fact(
            name="kept_back",
            label="Packets kept for the bank",
            when_made=False,
            api="packets_kept_back",
            is_imported=False,
        ),
    ),
)
