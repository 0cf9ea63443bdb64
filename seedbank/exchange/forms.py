"""The shape of what is typed in the exchange; rules are in the acts."""

import re
from typing import Any

from django import forms

from crosses.base.countries import COUNTRY_CHOICES, COUNTRY_NAMES
from crosses.base.fact_forms import FactsForm
from crosses.forms.fields import day_field
from seedbank.bank.models import Lot
from seedbank.bank.queries import member_by_number_or_name
from seedbank.exchange.facts import LINE
from seedbank.exchange.models import HandChange, Round
from seedbank.exchange.queries.listing import HARMLESS, HAZARDOUS, Filters
from seedbank.members.models import Member

MOMENT = "%Y-%m-%dT%H:%M"
WORD_OF_THE_RULE = {"spellcheck": "true"}


class MomentField(forms.DateTimeField):
    """A day and an hour in the society's time zone."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("input_formats", [MOMENT, "%Y-%m-%d %H:%M"])
        super().__init__(**options)
        self.widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=MOMENT)


class LineNumbersField(forms.CharField):
    """Line numbers of the list in order: 12, 7, 33."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        super().__init__(**options)
        self.widget = forms.Textarea(attrs={"rows": 3, "inputmode": "text", "spellcheck": "false"})

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(map(str, value)) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        words = re.split(r"[\s,;]+", super().to_python(value) or "")
        numbers = []
        for word in filter(None, words):
            if not re.fullmatch(r"[0-9]{1,6}", word) or int(word) == 0:
                raise forms.ValidationError(
                    f"“{word}” is not a line number. Write numbers such as 12, 7, 33."
                )
            numbers.append(int(word))
        return numbers


class CountryAllowancesField(forms.CharField):
    """Packets by country, one a line: AU 10."""

    def __init__(self, **options: Any) -> None:
        super().__init__(required=False, **options)
        self.widget = forms.Textarea(attrs={"rows": 3, "spellcheck": "false"})

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, dict):
            return value
        return "\n".join(f"{country} {packets}" for country, packets in sorted(value.items()))

    def to_python(self, value: Any) -> Any:
        allowances: dict[str, int] = {}
        for line in filter(None, map(str.strip, (super().to_python(value) or "").splitlines())):
            country, _, packets = line.rpartition(" ")
            code = _country_code(country.strip())
            if code is None or not re.fullmatch(r"[0-9]{1,3}", packets):
                raise forms.ValidationError(
                    f"“{line}” is not a country and a number. Write AU 10, or Australia 10."
                )
            if code in allowances:
                raise forms.ValidationError(f"{COUNTRY_NAMES[code]} stands there twice.")
            allowances[code] = int(packets)
        return allowances


def _country_code(text: str) -> str | None:
    if text.upper() in COUNTRY_NAMES:
        return text.upper()
    return next((code for code, name in COUNTRY_CHOICES if name.lower() == text.lower()), None)


class RoundForm(forms.Form):
    """The rules and dates of a round."""

    name = forms.CharField(max_length=120, help_text="As members know it: Seed exchange 2026.")
    slug = forms.SlugField(
        label="Short name",
        max_length=50,
        help_text="Stands in addresses and is part of the draw; it never changes: seed-exchange-2026.",
    )
    donations_close_at = MomentField(label="Donations close", required=False)
    list_opens_at = MomentField(label="List opens")
    wishes_close_at = MomentField(label="Wishes close")
    posting_from = day_field(label="Posting from", required=False)
    allowance = forms.IntegerField(
        label="Packets a member", min_value=1, max_value=1000, initial=20
    )
    country_allowances = CountryAllowancesField(
        label="Packets by country",
        help_text="Where a member may have more or fewer, one a line: AU 10. A donor's come on top.",
    )
    donor_extra = forms.IntegerField(
        label="Packets more for a donor", min_value=0, max_value=1000, initial=10
    )
    donor_from_lots = forms.IntegerField(
        label="Lots that make a donor", min_value=1, max_value=100, initial=1
    )
    reserves = forms.IntegerField(label="Reserve wishes", min_value=0, max_value=1000, initial=10)
    copies_per_line = forms.IntegerField(
        label="Packets of one line a member", min_value=1, max_value=20, initial=1
    )
    kept_back = forms.IntegerField(
        label="Packets of each lot kept for the bank", min_value=0, max_value=1000, initial=0
    )
    policy = forms.ChoiceField(
        label="How it is shared out", choices=Round.Policy.choices, widget=forms.RadioSelect
    )
    head_start_passes = forms.IntegerField(
        label="Passes donors have to themselves",
        min_value=0,
        max_value=50,
        initial=0,
        help_text="0: donors choose first in each pass, which is thanks enough in most years.",
    )
    household_shares_cap = forms.BooleanField(
        label="One household counts as one for each line", required=False
    )
    public_value_name = forms.CharField(
        label="Public value of the draw",
        max_length=200,
        help_text="What anybody can read after wishes close and nobody can know before, for instance:"
        " the numbers of the state lottery drawn on the first Saturday of December, in the order drawn.",
    )
    price_text = forms.CharField(
        label="What it costs",
        max_length=300,
        required=False,
        help_text="As members read it, with how to pay. Empty: nothing.",
    )
    rules_text = forms.CharField(label="Rules in words", required=False, widget=forms.Textarea)


class RoundChangeForm(RoundForm):
    """The same, with the reason; the short name has gone into print."""

    why = forms.CharField(
        label="Why it is changed", max_length=100, help_text="Stands in the history."
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        del self.fields["slug"]


class LotsForm(forms.Form):
    """Which of the bank's lots go on the list."""

    lots: "forms.ModelMultipleChoiceField[Lot]" = forms.ModelMultipleChoiceField(
        None,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose one lot or more."},
    )

    def __init__(self, *args: Any, choice: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["lots"].queryset = choice  # type: ignore[attr-defined]


class LineForm(FactsForm):
    """What a line says of its lot, and what is kept back of it."""

    declared = LINE
    is_for_making = False


class ReasonForm(forms.Form):
    """A reason that members will read."""

    reason = forms.CharField(max_length=300, label="Why")


class BarForm(forms.Form):
    """A country a line may not be asked for from."""

    country = forms.ChoiceField(choices=[("", "Choose a country"), *COUNTRY_CHOICES])
    words = forms.CharField(
        max_length=300, label="Why", help_text="Members of that country read it."
    )


class ListFilterForm(forms.Form):
    """What the list is narrowed to."""

    q = forms.CharField(label="Words, line or donor", required=False, max_length=100)
    genus = forms.CharField(
        required=False, max_length=60, widget=forms.TextInput(attrs={"list": "genera"})
    )
    origin = forms.ChoiceField(required=False, choices=[("", "any origin"), *Lot.Origin.choices])
    parent = forms.CharField(label="Parent of the cross", required=False, max_length=100)
    year = forms.IntegerField(label="Harvested in", required=False, min_value=1800, max_value=2200)
    caution = forms.ChoiceField(
        label="Poisonous or irritant",
        required=False,
        choices=[("", "any"), (HARMLESS, "no caution known"), (HAZARDOUS, "with a caution")],
    )
    left = forms.BooleanField(label="More packets than wishes so far", required=False)

    @property
    def narrows_further(self) -> bool:
        """Whether anything is asked for, or mistyped, in the part that is folded away."""
        return any(self.data.get(name) for name in ("origin", "parent", "year", "caution", "left"))

    @property
    def filters(self) -> Filters:
        """What was asked for; what cannot be understood narrows nothing."""
        asked = self.cleaned_data if self.is_valid() else {}
        return Filters(
            text=asked.get("q", ""),
            genus=asked.get("genus", ""),
            origin=asked.get("origin", ""),
            parent=asked.get("parent", ""),
            year=asked.get("year"),
            caution=asked.get("caution", ""),
            only_left=asked.get("left", False),
        )


class WishesForm(forms.Form):
    """A member's list: the numbers in order, most wanted first."""

    main = LineNumbersField(
        label="What you would like", help_text="Line numbers, most wanted first: 12, 7, 33"
    )
    reserve = LineNumbersField(
        label="Reserves", help_text="Looked at when everybody's main wishes have had their turn."
    )


class PutWishesForm(forms.Form):
    """Lines to be put into a member's list, or moved in it."""

    lines = LineNumbersField(
        label="Line numbers",
        help_text="One, or several in a row: 12 7 33",
        required=True,
        error_messages={"required": "Type the number of a line, or several."},
    )
    place = forms.IntegerField(
        label="To place",
        required=False,
        min_value=1,
        max_value=10_000,
        help_text="Empty: at the end.",
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["lines"].widget = forms.TextInput(
            attrs={"inputmode": "decimal", "autocomplete": "off", "class": "number"}
        )
        # A number pad on a phone, without the arrows that change a number when one scrolls.
        self.fields["place"].widget = forms.TextInput(attrs={"inputmode": "numeric", "size": "4"})


class WhoseWishesForm(forms.Form):
    """The member whose posted list is typed in."""

    member = forms.CharField(
        max_length=200,
        label="Member",
        help_text="Member number or name.",
        widget=forms.TextInput(attrs={"list": "member-suggestions", "autocomplete": "off"}),
    )

    def clean_member(self) -> Member:
        found = member_by_number_or_name(self.cleaned_data["member"])
        if found is None or not found.is_active:
            raise forms.ValidationError("There is no such member; type the member number.")
        return found


class PublicValueForm(forms.Form):
    """The value the draw waited for."""

    public_value = forms.CharField(
        max_length=200,
        strip=True,
        help_text="Letter for letter as it was published; everybody will check it.",
    )


class WhyForm(forms.Form):
    """Why the seed is shared out again."""

    why = forms.CharField(
        max_length=300, label="Why", help_text="Everybody reads it beside the result."
    )


class HandChangeForm(WhoseWishesForm):
    """One member, one line, and why the draw is overruled for her."""

    line_number = forms.IntegerField(label="Line", min_value=1, max_value=999_999)
    kind = forms.ChoiceField(label="What", choices=HandChange.Kind.choices)
    why = forms.CharField(
        max_length=200,
        label="Why",
        help_text="Everybody can read it in the inputs of the run; write no names.",
    )


class SurplusForm(forms.Form):
    """When what is left over may be taken, and how much of it by one member."""

    opens_at = MomentField(label="Opens", help_text="Tell everybody well before this hour.")
    closes_at = MomentField(label="Closes")
    packets_each = forms.IntegerField(
        label="Packets a member may take", min_value=1, max_value=500, initial=5
    )
