"""What is said to the customs: the society's words for a country, and a parcel's weight."""

from typing import Any

from django.db import IntegrityError, transaction

from crosses.base.history import save_with_history
from crosses.base.refusal import Refused
from seedbank.exchange.actions.picking import locked_parcel, require_in_hand
from seedbank.exchange.models import CustomsWords, Parcel
from seedbank.members.models import Member


@transaction.atomic
def save_customs_words(*, words: CustomsWords, by: Member, why: str, **facts: Any) -> CustomsWords:
    for name, value in facts.items():
        setattr(words, name, value)
    try:
        with transaction.atomic():
            save_with_history(words, by=by, why=why)
    except IntegrityError as taken:
        raise Refused(
            "customs-taken", f"There are words for {words} already.", field="country"
        ) from taken
    return words


@transaction.atomic
def weigh_parcel(*, parcel: Parcel, by: Member, weight_grams: int) -> Parcel:
    parcel = locked_parcel(parcel)
    require_in_hand(parcel, by)
    if parcel.posted_on:
        raise Refused("parcel-posted", f"Posted on {parcel.posted_on} already.")
    parcel.weight_grams = weight_grams
    save_with_history(parcel, by=by, why="Weighed.")
    return parcel
