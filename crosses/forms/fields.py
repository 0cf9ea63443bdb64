"""Inputs that several forms share: a plant, a cross or a taxon typed by number or name."""

from collections.abc import Callable
from functools import partial
from typing import Any

from django import forms

from crosses.base.pages import said_no
from crosses.base.refusal import Refused
from crosses.base.typed import DateField
from crosses.calc.errors import BadInput
from crosses.formats.photo import MOST_BYTES, Photo, clean_photo


class TypedRecordField(forms.CharField):
    """A record typed by its number or name, with suggestions; the form says how it is found."""

    # Set by the form that knows who is asking.
    find: Callable[[str], Any]

    def __init__(self, *, suggestions: str, **options: Any) -> None:
        options.setdefault("max_length", 250)
        super().__init__(**options)
        self.widget.attrs.update(
            {"list": suggestions, "autocomplete": "off", "spellcheck": "false"}
        )

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.find(text)
        except Refused as no:
            raise said_no(no) from no


def plant_field(**options: Any) -> TypedRecordField:
    return _scannable(TypedRecordField(suggestions="plant-suggestions", **options))


def cross_field(**options: Any) -> TypedRecordField:
    return _scannable(TypedRecordField(suggestions="cross-suggestions", **options))


def _scannable(field: TypedRecordField) -> TypedRecordField:
    """What stands on a tag can be read by the camera; the page's script looks for this mark."""
    field.widget.attrs["data-scan"] = True
    return field


def taxon_field(**options: Any) -> TypedRecordField:
    return TypedRecordField(suggestions="taxon-suggestions", **options)


class PhotoField(forms.FileField):
    """A photograph; what comes out is free of all but the picture, and small."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        # No `capture`: a phone then offers the camera and the pictures taken before.
        self.widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
        self.widget.is_required = self.required

    def clean(self, data: Any, initial: Any = None) -> Photo | None:
        file = super().clean(data, initial)
        if not file:
            return None
        try:
            # One byte too many is enough to be refused; no more of it is read.
            return clean_photo(file.read(MOST_BYTES + 1))
        except BadInput as no:
            raise forms.ValidationError(no.message) from no


def day_field(**options: Any) -> DateField:
    return DateField(**options)


def let_find(form: forms.BaseForm, find: Callable[..., Any], *names: str) -> None:
    """Tell a form's typed fields how their records are found, for the person who asks."""
    for name in names:
        field = form.fields[name]
        assert isinstance(field, TypedRecordField)  # noqa: S101  a form's own declaration
        field.find = partial(find, field=name)


class WithdrawForm(forms.Form):
    """Why a record is taken out of use."""

    reason = forms.CharField(
        max_length=300, label="Why", help_text="The record stays to be read, with this beside it."
    )
