"""What every page with a form does: do the act, or say at the field why not."""

import uuid
from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from crosses.base.refusal import Refused
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput

Result = TypeVar("Result")
Record = TypeVar("Record", bound=Model)


def carry_out(form: forms.BaseForm, act: Callable[[], Result]) -> Result | None:
    """Do the act; if a rule refuses it, say so at the field and return None."""
    try:
        return act()
    except (Refused, BadInput) as no:
        form.add_error(no.field if no.field in form.fields else None, said_no(no))
        return None


def said_no(no: Refused | BadInput) -> forms.ValidationError:
    """Return what a rule said as a form says it, with what could have been meant."""
    if isinstance(no, BadInput) or not no.choices:
        return forms.ValidationError(no.message)
    # With parameters a per cent sign in what somebody typed would stand for one of them.
    words = no.message.replace("%", "%%")
    return forms.ValidationError(words, code=no.code, params={"choices": no.choices})


def carry_out_or_say(request: HttpRequest, act: Callable[[], object], done: str = "") -> bool:
    """Do an act that has no form; the next page says that it is done, or which rule refuses it."""
    try:
        act()
    except Refused as no:
        messages.error(request, no.message)
        return False
    if done:
        messages.success(request, done)
    return True


def way_back(request: HttpRequest, otherwise: str) -> str:
    """Return the page of ours that a form was sent from, if it said so, or another."""
    path: str = request.POST.get("next", "")
    is_ours = path.startswith("/") and url_has_allowed_host_and_scheme(path, allowed_hosts=None)
    return path if is_ours else otherwise


def page_of(request: HttpRequest, records: QuerySet[Record], per_page: int = 50) -> Page[Record]:
    return Paginator(records, per_page).get_page(request.GET.get("page"))


class NumberField(forms.CharField):
    """A number with check digits, typed or scanned; a code's whole address is understood too."""

    def __init__(self, *, kind: str, **options: object) -> None:
        self.kind = kind
        options.setdefault("max_length", 120)
        super().__init__(**options)  # type: ignore[arg-type]
        self.widget.attrs.update(
            {
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                # The page's script gives it a camera button.
                "data-scan": True,
            }
        )

    def clean(self, value: object) -> str:
        text = super().clean(value)
        if not text:
            return ""
        # A scanner types a code's whole address; a suggestion is a number and a name.
        number = text.rstrip("/").rpartition("/")[2]
        head = number.split(maxsplit=1)[0]
        try:
            return read_number(head if _is_whole(head) else number, kind=self.kind)
        except BadInput as wrong:
            raise forms.ValidationError(wrong.message) from wrong


def _is_whole(text: str) -> bool:
    """Tell whether a word is a number by itself, and not the first part of one typed in groups."""
    return sum(character.isdigit() for character in text) >= 8


class KeyedForm(forms.Form):
    """A form that carries a key made when it was shown, so that a double tap makes one record."""

    client_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, required=False)
