"""The bank's records: places, donations, lots, packets and their movements, rules of caution."""

from seedbank.bank.models.caution import CautionRule
from seedbank.bank.models.donation import Donation, DonationLine
from seedbank.bank.models.lot import Lot
from seedbank.bank.models.packet import Movement, Packet
from seedbank.bank.models.place import Place

__all__ = ["CautionRule", "Donation", "DonationLine", "Lot", "Movement", "Packet", "Place"]
