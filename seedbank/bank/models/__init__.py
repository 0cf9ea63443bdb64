"""The bank's records: places, donations, lots, packets and their movements."""

from seedbank.bank.models.donation import Donation, DonationLine
from seedbank.bank.models.lot import Lot
from seedbank.bank.models.packet import Movement, Packet
from seedbank.bank.models.place import Place

__all__ = ["Donation", "DonationLine", "Lot", "Movement", "Packet", "Place"]
