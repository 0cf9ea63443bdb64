"""What a grower says of a pollination, with one hand and gloves on."""

import datetime
from functools import partial
from typing import Any

from django import forms

from crosses.actions.pollination import Pair
from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.facts.pollination import POLLINATION
from crosses.formats.labelsheet import LEAST_TAG_HEIGHT_MM
from crosses.forms.fields import cross_field, day_field, let_find, plant_field
from crosses.forms.sheet import SheetForm
from crosses.models import Cross, Pollination
from crosses.models.pollination import PollenState
from crosses.queries.finding import find_cross, find_plant

# A mixture's plants and parts are written down where the cross is planned.
_POLLEN = [choice for choice in Cross.Pollen.choices if choice[0] != Cross.Pollen.MIXED]

EARLIEST_YEAR = 1800


def stepper(**options: Any) -> forms.IntegerField:
    """A number of flowers; the page's script puts a minus and a plus beside it."""
    return forms.IntegerField(
        min_value=1,
        max_value=999,
        widget=forms.NumberInput(attrs={"data-stepper": True, "inputmode": "numeric"}),
        **options,
    )


class FlowerFactsForm(FactsForm, KeyedForm):
    """How flowers were pollinated."""

    declared = POLLINATION
    by_hand = ("pollen_seen",)

    flowers = stepper(initial=1, label="Flowers")
    no_pollen_found = forms.BooleanField(required=False, label="no pollen was found")

    def __init__(self, *args: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        day = self.fields["pollinated_on"]
        day.initial = day.initial or today

    def clean_pollinated_on(self) -> datetime.date:
        day: datetime.date = self.cleaned_data["pollinated_on"]
        if day.year < EARLIEST_YEAR:
            raise forms.ValidationError("Write the year with all four digits.")
        return day

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        is_fresh = cleaned.get("pollen_state") == PollenState.FRESH
        if is_fresh and (
            cleaned.get("pollen_stored_how") or cleaned.get("pollen_stored_days") is not None
        ):
            self.add_error(
                "pollen_state", "You say how it was stored: choose 'stored', or empty that."
            )
        return cleaned

    def facts(self) -> dict[str, Any]:
        return {**super().facts(), "pollen_seen": not self.cleaned_data["no_pollen_found"]}


class PollinationForm(FlowerFactsForm):
    """A pollination by its cross, or by its two plants."""

    # Which of the parents is needed depends on what is typed beside it.
    use_required_attribute = False

    again = cross_field(required=False, label="Same pair again")
    cross = cross_field(
        required=False, label="Cross", help_text="If it is planned already: its number."
    )
    seed_parent = plant_field(
        label="Seed parent",
        help_text="The plant that got pollen: its number, or a part of its name.",
        error_messages={"required": "Which plant got the pollen?"},
    )
    pollen = forms.ChoiceField(
        choices=_POLLEN, initial=Cross.Pollen.PLANT, required=False, label="Pollen from"
    )
    pollen_parent = plant_field(
        label="Pollen parent",
        help_text="The plant the pollen is from.",
        error_messages={"required": "Which plant gave the pollen?"},
    )
    own_number = forms.CharField(
        required=False,
        max_length=40,
        label="Your number",
        help_text="Empty: this pair's number of the season, or your next one.",
    )
    both_ways = forms.BooleanField(required=False, label="both ways: the reciprocal too")
    flowers_back = stepper(
        required=False,
        label="Flowers on the other plant",
        help_text="If it went both ways. Empty: as many as on this one.",
    )
    # A device that wrote both tags without a signal says what stands on the second.
    own_number_back = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(self, *args: Any, user: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, today=today, **options)
        self.user = user
        asked = self.data if self.is_bound else self.initial
        self.is_of_a_cross = bool(asked.get("cross") or asked.get("again"))
        one_plant = asked.get("pollen", Cross.Pollen.PLANT) in {"", Cross.Pollen.PLANT}
        self.fields["seed_parent"].required = not self.is_of_a_cross
        self.fields["pollen_parent"].required = one_plant and not self.is_of_a_cross
        find = partial(find_plant, user, by_part=True, may_be_new=True)
        let_find(self, find, "seed_parent", "pollen_parent")
        let_find(self, partial(find_cross, user), "again", "cross")

    def clean_again(self) -> Cross | None:
        return self._own_cross("again")

    def clean_cross(self) -> Cross | None:
        return self._own_cross("cross")

    def _own_cross(self, name: str) -> Cross | None:
        cross: Cross | None = self.cleaned_data[name]
        if cross is not None and cross.grower_id != self.user.pk:
            raise forms.ValidationError("This is another grower's cross.")
        return cross

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        cleaned["pollen"] = cleaned.get("pollen") or Cross.Pollen.PLANT
        again, typed = cleaned.get("again"), cleaned.get("cross")
        if again is not None and typed is not None and again != typed:
            self.add_error("cross", f"You chose {again.own_number} above; empty this.")
        cross = again or typed
        if cross is not None:
            self._refuse_another_pair(cross, cleaned)
        elif cleaned["pollen"] != Cross.Pollen.PLANT and cleaned.get("pollen_parent"):
            self.add_error(
                "pollen_parent", "Leave this empty, or choose that the pollen is from one plant."
            )
        return cleaned

    def where(self) -> Cross | Pair:
        """Return the cross it was made for, or the pair of plants."""
        typed = self.cleaned_data
        return (
            typed["again"]
            or typed["cross"]
            or Pair(
                seed_parent=typed["seed_parent"],
                pollen=typed["pollen"],
                pollen_parent=typed["pollen_parent"],
                season=typed["pollinated_on"].year,
                own_number=typed["own_number"].strip(),
            )
        )

    def gesture(self) -> dict[str, Any]:
        """Return all that was done in one sitting, for the act."""
        typed = self.cleaned_data
        back = (typed["flowers_back"] or typed["flowers"]) if typed["both_ways"] else None
        return {
            "cross": self.where(),
            "flowers_back": back,
            "own_number_back": typed["own_number_back"].strip(),
            **self.facts(),
        }

    def _refuse_another_pair(self, cross: Cross, cleaned: dict[str, Any]) -> None:
        for name in ("seed_parent", "pollen_parent"):
            typed = cleaned.get(name)
            if typed is not None and typed != getattr(cross, name):
                self.add_error(name, f"Cross {cross.own_number} has another; empty one.")


class ChangePollinationForm(FlowerFactsForm):
    """A correction says why."""

    is_for_making = False

    why = forms.CharField(max_length=100, required=False, label="Why it is changed")

    def __init__(
        self, *args: Any, pollination: Pollination, today: datetime.date, **options: Any
    ) -> None:
        super().__init__(*args, today=today, correcting=pollination, **options)
        self.fields["no_pollen_found"].initial = not pollination.pollen_seen


class TouchUpForm(KeyedForm):
    """A second load of pollen on the same flower."""

    done_on = day_field(label="Day")
    pollen_state = forms.ChoiceField(choices=PollenState.choices, label="Pollen")
    note = forms.CharField(required=False, max_length=200, label="Note")

    def __init__(self, *args: Any, today: datetime.date, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["done_on"].initial = today


class TagSheetForm(SheetForm):
    """Which tags to print, on which sheet or tape, and where its first free place is."""

    numbers = forms.CharField(
        label="Flowers",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Numbers of your flowers (F...), one a line.",
    )
    field_order = ["numbers", "sheet", "start_at"]

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, least_height_mm=LEAST_TAG_HEIGHT_MM, **options)


class FindFlowersForm(forms.Form):
    """Which flowers to look at."""

    state = forms.ChoiceField(
        required=False,
        choices=[("", "still open"), *Pollination.State.choices, ("all", "all")],
        label="State",
    )
    season = forms.IntegerField(required=False, min_value=1800, max_value=2200, label="Season")
    whose = forms.ChoiceField(
        required=False, choices=[("", "only my own"), ("all", "everybody's")], label="Whose"
    )

    def asked(self) -> dict[str, Any]:
        """Return what the list is asked for; what cannot be read is not asked."""
        self.full_clean()
        asked = self.cleaned_data
        return {
            "state": asked.get("state", ""),
            "season": asked.get("season"),
            "own_only": asked.get("whose") != "all",
        }
