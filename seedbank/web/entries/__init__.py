"""What was logged without a signal, carried to the acts once each."""

from seedbank.web.entries.base import Answer, Entry, Outcome
from seedbank.web.entries.taking import KINDS, take_entry

__all__ = ["KINDS", "Answer", "Entry", "Outcome", "take_entry"]
