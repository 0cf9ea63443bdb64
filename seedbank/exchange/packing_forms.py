"""The shape of what is typed at the packing table and on papers; rules are in the acts."""

import re
from typing import Any

from django import forms

from crosses.base.clock import today
from crosses.base.pages import KeyedForm, NumberField
from crosses.base.typed import DateField, DecimalField
from crosses.forms.fields import day_field
from seedbank.exchange.models import CustomsWords


class ScanForm(forms.Form):
    """The number of the packet in the packer's hand."""

    number = NumberField(kind="packet", label="Packet number")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["number"].widget.attrs |= {"autofocus": True, "data-scan": "submit"}


class ShortForm(forms.Form):
    """What is wrong with a packet that was to be packed."""

    GONE = "gone"
    STAYS = "stays"
    what = forms.ChoiceField(
        label="What is wrong",
        widget=forms.RadioSelect,
        choices=[
            ("missing", "It is not at its place"),
            ("spoilt", "It is spoilt: mouldy, leaking, empty"),
            ("wrong", "There is other seed in it than it says"),
            (STAYS, "It is sound but must not go into this parcel; it stays in store"),
        ],
    )
    note = forms.CharField(max_length=200, required=False, label="What you saw")


class CloseForm(forms.Form):
    """Why a parcel that a rule holds is closed all the same."""

    held_reason = forms.CharField(
        label="Why it may go all the same",
        max_length=300,
        required=False,
        help_text="For instance the permit that is enclosed, or what the authority answered, and when."
        " Your name stands beside it.",
    )


class PostForm(forms.Form):
    """When and how a parcel was posted."""

    posted_on = day_field(label="Posted on")
    weight_grams = forms.IntegerField(
        label="Weight, grams", required=False, min_value=1, max_value=30_000
    )
    postage_text = forms.CharField(label="Postage", required=False, max_length=60)
    papers_note = forms.CharField(
        label="Papers that go with it",
        required=False,
        max_length=300,
        help_text="What was asked of the plant health authorities, and what is enclosed.",
    )

    def clean_posted_on(self) -> Any:
        posted_on = self.cleaned_data["posted_on"]
        if posted_on > today():
            raise forms.ValidationError("That day has not come yet.")
        return posted_on


class PrintForm(KeyedForm):
    """Which papers of the chosen parcels are printed, and how they are put together."""

    what = forms.ChoiceField(
        label="What",
        widget=forms.RadioSelect,
        choices=[("slips", "Packing slips"), ("customs", "Contents for the customs, abroad only")],
        initial="slips",
    )
    shape = forms.ChoiceField(
        label="As",
        widget=forms.RadioSelect,
        choices=[
            ("one", "One file, to print at one go"),
            ("each", "One file a parcel, in one folder (ZIP); these can be read aloud too"),
        ],
        initial="one",
    )


class CustomsWordsForm(forms.ModelForm):  # type: ignore[type-arg]  # not generic at run time
    """What is written on the customs form of parcels to one country."""

    class Meta:
        model = CustomsWords
        fields = [
            "country",
            "contents",
            "ticked",
            "tariff_number",
            "statement",
            "value_per_packet",
            "currency",
            "source",
            "checked_on",
            "checked_by",
        ]
        field_classes = {"checked_on": DateField, "value_per_packet": DecimalField}
        widgets = {"statement": forms.Textarea(attrs={"rows": 3})}

    why = forms.CharField(
        max_length=100, label="Why it is changed", help_text="Stands in the history."
    )

    def _post_clean(self) -> None:
        """Build no record here: the act does, and its rules speak in their own order."""

    def clean_currency(self) -> str:
        currency = str(self.cleaned_data["currency"]).upper()
        if not re.fullmatch(r"[A-Z]{3}", currency):
            raise forms.ValidationError("A currency is written with three letters: GBP, EUR.")
        return currency


class ReportForm(KeyedForm):
    """What came up of one packet of a parcel, told by whoever holds the slip."""

    packet = forms.ChoiceField(label="Packet")
    sown_on = day_field(label="Sown on")
    seeds_sown = forms.IntegerField(label="Seeds sown", min_value=1, max_value=100_000)
    came_up = forms.IntegerField(
        label="Came up so far",
        min_value=0,
        max_value=100_000,
        help_text="All seedlings since you sowed; 0 if none has come.",
    )
    counted_on = day_field(label="Counted on")

    def __init__(self, *args: Any, packets: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["packet"].choices = packets  # type: ignore[attr-defined]


class WeightForm(forms.Form):
    """What a parcel weighs, before it is posted."""

    weight_grams = forms.IntegerField(label="Weight, grams", min_value=1, max_value=30_000)
