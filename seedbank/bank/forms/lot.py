"""What is written of a seed lot; rules are in the acts."""

from typing import Any

from django import forms

from crosses.base.fact_forms import FactsForm
from crosses.base.pages import KeyedForm
from crosses.forms.fields import let_find, taxon_field
from crosses.queries.finding import find_taxon
from seedbank.bank.facts import LOT
from seedbank.bank.models import Lot


class LotForm(FactsForm, KeyedForm):
    """A lot to write down or correct."""

    declared = LOT

    taxon = taxon_field(
        required=False, label="Taxon", help_text="Its species, if the name does not say."
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        let_find(self, find_taxon, "taxon")

    def facts(self) -> dict[str, Any]:
        return super().facts() | {"taxon": self.cleaned_data["taxon"]}


class ChangeLotForm(LotForm):
    """A correction, with its reason."""

    is_for_making = False

    why = forms.CharField(max_length=100, label="Why it is changed")

    def __init__(self, *args: Any, lot: Lot, **options: Any) -> None:
        taxon = lot.taxon.name if lot.taxon else ""
        super().__init__(*args, correcting=lot, initial={"taxon": taxon}, **options)
