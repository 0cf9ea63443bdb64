"""The exchange's records, in the order of the year."""

from seedbank.exchange.models.allocation import (
    AllocationRun,
    HandChange,
    MemberAccount,
    RunAccount,
)
from seedbank.exchange.models.customs import CustomsWords
from seedbank.exchange.models.listing import LineBar, ListLine
from seedbank.exchange.models.parcel import Parcel, ParcelItem
from seedbank.exchange.models.round import Round
from seedbank.exchange.models.surplus import Surplus
from seedbank.exchange.models.wishes import Wish, WishList

__all__ = [
    "AllocationRun",
    "CustomsWords",
    "HandChange",
    "LineBar",
    "ListLine",
    "MemberAccount",
    "Parcel",
    "ParcelItem",
    "Round",
    "RunAccount",
    "Surplus",
    "Wish",
    "WishList",
]
