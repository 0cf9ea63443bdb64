"""The grower's records, in the order seed is made."""

from crosses.models.number import NumberSeries
from crosses.models.sent_form import SentForm
from crosses.models.taxon import DestinationFlag, Taxon

from crosses.models.plant import Plant  # isort: skip
from crosses.models.capsule import Check, CheckPhoto
from crosses.models.cross import Cross, PollenShare
from crosses.models.harvest import Harvest, HarvestedPollination, SeedSample
from crosses.models.own_number import OwnNumberLetter
from crosses.models.pollination import Pollination, TouchUp

__all__ = [
    "Check",
    "CheckPhoto",
    "Cross",
    "DestinationFlag",
    "Harvest",
    "HarvestedPollination",
    "NumberSeries",
    "OwnNumberLetter",
    "Plant",
    "PollenShare",
    "Pollination",
    "SeedSample",
    "SentForm",
    "Taxon",
    "TouchUp",
]
