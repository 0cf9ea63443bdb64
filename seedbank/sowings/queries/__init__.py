"""What is known from sowings; the names that other apps ask for."""

from seedbank.sowings.queries.lots import germination_of_lots, lot_germination, storage_outlook

__all__ = ["germination_of_lots", "lot_germination", "storage_outlook"]
