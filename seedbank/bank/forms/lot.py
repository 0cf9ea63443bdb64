"""What is written of a seed lot; rules are in the acts."""

from typing import Any

from django import forms

from crosses.base.pages import KeyedForm
from crosses.forms.fields import let_find, taxon_field
from crosses.queries.finding import find_taxon
from seedbank.bank.models import Lot

_DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class LotForm(forms.ModelForm, KeyedForm):  # type: ignore[type-arg]  # not generic at run time
    """A lot to write down or correct."""

    taxon = taxon_field(
        required=False, label="Taxon", help_text="Its species, if the name does not say."
    )

    class Meta:
        model = Lot
        fields = [
            "name_text",
            "taxon",
            "year",
            "origin",
            "wild_where",
            "wild_country",
            "wild_permit",
            "collected_on",
            "cleaned_on",
            "drying_note",
            "seed_counting",
            "seeds",
            "seeds_low",
            "seeds_high",
            "thousand_seed_weight_grams",
            "storage_temperature_celsius",
            "storage_moisture_percent",
            "storage_humidity_percent",
            "hazard_note",
            "note",
            "visibility",
        ]
        labels = {
            "collected_on": "Collected on",
            "cleaned_on": "Cleaned on",
            "drying_note": "How it was dried",
            "seed_counting": "Seeds are",
            "seeds": "Number of seeds",
            "seeds_low": "At least",
            "seeds_high": "At most",
            "thousand_seed_weight_grams": "Thousand-seed weight, grams",
            "storage_temperature_celsius": "Kept at, °C",
            "storage_moisture_percent": "Seed moisture, %",
            "storage_humidity_percent": "Air humidity, %",
            "hazard_note": "Caution",
            "visibility": "Who may see it",
            "wild_country": "Country where it was collected",
        }
        help_texts = {
            "name_text": "Seed parent first: Primula veris × P. vulgaris.",
            "seeds_low": "With an estimate: the lower end of its interval.",
            "seeds_high": "And the upper end.",
            "hazard_note": "If the seed or plant can hurt: it is printed on every label.",
        }
        widgets = {
            "collected_on": _DAY,
            "cleaned_on": _DAY,
            "note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        let_find(self, find_taxon, "taxon")

    def _post_clean(self) -> None:
        """Build no record here: the act does, and its rules speak in their own order."""

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


class ChangeLotForm(LotForm):
    """A correction, with its reason."""

    why = forms.CharField(max_length=100, label="Why it is changed")
