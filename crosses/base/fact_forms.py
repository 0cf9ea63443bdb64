"""The inputs of a form, made from what is declared of a record."""

from typing import Any, ClassVar

from django import forms
from django.db import models

from crosses.base.facts import Fact, RecordFacts
from crosses.base.typed import DateField, DecimalField, FloatField


class FactsForm(forms.Form):
    """A form of a record's facts; an input that is written out in the class is left as it is.

    `by_hand` are facts that the form asks for in its own way.
    """

    declared: ClassVar[RecordFacts]
    is_for_making: ClassVar[bool] = True
    by_hand: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, correcting: models.Model | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        for name, fact in self._asked().items():
            self.fields.setdefault(name, input_of(self.declared, fact))
            if correcting is not None:
                self.fields[name].initial = getattr(correcting, name)
        self.order_fields(self.field_order)

    def _asked(self) -> dict[str, Fact]:
        facts = self.declared.written(making=self.is_for_making)
        return {fact.name: fact for fact in facts if fact.name not in self.by_hand}

    def facts(self) -> dict[str, Any]:
        """Return what was typed, for the act; a correction says nothing of what its page left out."""
        return {
            name: self.cleaned_data[name]
            for name in self._asked()
            if self.is_for_making or not self._is_left_out(name)
        }

    def _is_left_out(self, name: str) -> bool:
        widget = self.fields[name].widget
        name = self.add_prefix(name)
        return bool(widget.value_omitted_from_data(self.data, self.files, name))


def input_of(declared: RecordFacts, fact: Fact) -> forms.Field:
    """Make the input of a fact, of the shape and within the bounds of the model's field."""
    field, bounds = declared.field(fact), declared.bounds(fact)
    options: dict[str, Any] = {"label": fact.full_label, "help_text": fact.help}
    if isinstance(field, models.DateField):
        options["form_class"] = DateField
    elif isinstance(field, models.TimeField):
        options["widget"] = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    elif isinstance(field, models.TextField):
        options["widget"] = forms.Textarea(attrs={"rows": 2})
    elif bounds.least is not None or bounds.most is not None:
        options |= {"min_value": bounds.least, "max_value": bounds.most}
        if bounds.words:
            words = dict.fromkeys(("min_value", "max_value"), bounds.words)
            options["error_messages"] = words
    if isinstance(field, models.DecimalField):
        options["form_class"] = DecimalField
    elif isinstance(field, models.FloatField):
        options["form_class"] = FloatField
    made = field.formfield(**options)
    assert made is not None  # noqa: S101  a declared field can be typed
    return made
