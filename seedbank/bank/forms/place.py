"""Places, typed by their code."""

from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import said_no
from crosses.base.refusal import Refused
from seedbank.bank.facts import PLACE
from seedbank.bank.models import Place
from seedbank.bank.queries import NEW_PLACE, new_place, place_by_code
from seedbank.members.models import Member

# A code is short, as written on the tray; what the place is called may be longer.
LONGEST = 120 + len(NEW_PLACE)


class PlaceField(forms.CharField):
    """A place typed by its code, one's own or the bank's."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=LONGEST, **options)
        self.widget.attrs.update({"list": "place-suggestions", "autocomplete": "off"})


def find_place(user: Member, code: str, *, of_bank: bool, may_be_new: bool = False) -> Place | None:
    """Return the place meant; where it `may_be_new`, one that the act has to keep."""
    if not code:
        return None
    is_new = may_be_new and code.startswith(NEW_PLACE)
    name = code.removeprefix(NEW_PLACE).strip() if is_new else code
    place = place_by_code(user, name, of_bank=of_bank)
    if place is not None:
        return place
    if is_new and name:
        return new_place(name, owner=None if of_bank else user)
    whose = "The bank has" if of_bank else "You have"
    raise said_no(
        Refused(
            "place-unknown",
            f"{whose} no place {name}." + ("" if may_be_new else " Add it to the places first."),
            choices=[(f"{NEW_PLACE}{name}", f"Make a place {name}")] if may_be_new else (),
        )
    )


class PlaceForm(FactsForm):
    """A drawer, tray or box."""

    declared = PLACE
    field_order = ("code", "name", "walk_order", "temperature_celsius", "is_bank")

    is_bank = forms.BooleanField(required=False, initial=True, label="It is a place of the bank")

    def __init__(
        self, *args: Any, user: Member, correcting: Place | None = None, **options: Any
    ) -> None:
        super().__init__(*args, correcting=correcting, **options)
        self.fields["walk_order"].required = False
        if not user.is_keeper or correcting is not None:
            del self.fields["is_bank"]

    def clean_walk_order(self) -> int:
        return self.cleaned_data["walk_order"] or 0
