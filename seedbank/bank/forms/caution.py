"""A rule of caution as the keeper types it."""

import re
from typing import Any

from django import forms

from crosses.base.countries import COUNTRY_NAMES
from crosses.base.typed import DateField, DecimalField
from seedbank.bank.models import CautionRule


class WordsField(forms.CharField):
    """Several words in one box, apart by commas or spaces; a list in the record."""

    def __init__(self, **options: Any) -> None:
        super().__init__(required=False, **options)
        self.widget = forms.Textarea(attrs={"rows": 2, "spellcheck": "false"})

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        words = filter(None, re.split(r"[\s,;]+", super().to_python(value) or ""))
        return sorted({self.read(word) for word in words})

    def read(self, word: str) -> str:
        raise NotImplementedError


class CountriesField(WordsField):
    def read(self, word: str) -> str:
        if word.upper() not in COUNTRY_NAMES:
            raise forms.ValidationError(f"“{word}” is not a country's two letters, as in US or NZ.")
        return word.upper()


class GeneraField(WordsField):
    def read(self, word: str) -> str:
        if not re.fullmatch(r"[^\W\d_]+(-[^\W\d_]+)?", word):
            raise forms.ValidationError(f"“{word}” is not the name of a genus.")
        return word.capitalize()


class CautionRuleForm(forms.ModelForm):  # type: ignore[type-arg]  # not generic at run time
    """What a rule says, of what, where it was read, by whom and when."""

    class Meta:
        model = CautionRule
        field_classes = {"checked_on": DateField, "most_grams": DecimalField}
        fields = [
            "rule",
            "kind",
            "level",
            "words",
            "label_words",
            "source",
            "checked_on",
            "checked_by",
            "destinations",
            "unless_from",
            "genera",
            "most_packets",
            "most_seeds",
            "most_grams",
            "exempts_raised_hybrids",
        ]
        labels = {"rule": "Name", "words": "What it says", "source": "Where it comes from"}
        widgets = {
            "words": forms.Textarea(attrs={"rows": 4}),
            "source": forms.Textarea(attrs={"rows": 2}),
        }

    destinations = CountriesField(
        label="Countries it is about", help_text="Two letters each: US, CA. Empty: everywhere."
    )
    unless_from = CountriesField(
        label="Unless sent from", help_text="Parcels from these countries are left alone."
    )
    genera = GeneraField(label="Genera it is about", help_text="Empty: all.")

    def _post_clean(self) -> None:
        """Build no record here: the act does, and its rules speak in their own order."""

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


class CautionRuleChangeForm(CautionRuleForm):
    """The same, with the reason."""

    why = forms.CharField(
        max_length=100, label="Why it is changed", help_text="Stands in the history."
    )
