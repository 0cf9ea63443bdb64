"""What every page with a form does: do the act, or say at the field why not."""

import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.forms import BaseFormSet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from crosses.base.changing import opened_by, unless_moved_on
from crosses.base.refusal import Refused
from crosses.base.sending import ShownAgain, entered_as_sent
from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput

Result = TypeVar("Result")
Record = TypeVar("Record", bound=Model)


def carry_out(
    form: forms.BaseForm, act: Callable[[], Result], *, once: bool = True
) -> Result | None:
    """Do the act, once however often it is sent; if a rule refuses it, say so at the field.

    A form of change is refused when its record has moved on since the form was opened. An act that is
    to be answered each time it is sent, because a rule of its own tells the second from the first,
    says that it is not `once`.
    """
    try:
        with entered_as_sent(once=once), unless_moved_on(form):
            return act()
    except ShownAgain:
        return None
    except (Refused, BadInput) as no:
        _say_no(form, no)
        return None


def ask(form: forms.BaseForm, question: Callable[[], Result]) -> Result | None:
    """Ask what a form asks and write nothing; if a rule refuses it, say so at the field."""
    try:
        return question()
    except (Refused, BadInput) as no:
        _say_no(form, no)
        return None


def _say_no(form: forms.BaseForm, no: Refused | BadInput) -> None:
    form.add_error(no.field if no.field in form.fields else None, said_no(no))


def said_no(no: Refused | BadInput) -> forms.ValidationError:
    """Return what a rule said as a form says it, with what could have been meant."""
    if isinstance(no, BadInput) or not no.choices:
        return forms.ValidationError(no.message)
    # With parameters a per cent sign in what somebody typed would stand for one of them.
    words = no.message.replace("%", "%%")
    return forms.ValidationError(words, code=no.code, params={"choices": no.choices})


def carry_out_or_say(
    request: HttpRequest, act: Callable[[], object], done: str = "", *, once: bool = True
) -> bool:
    """Do an act that has no form; the next page says that it is done, or which rule refuses it."""
    try:
        with entered_as_sent(once=once):
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


def show(request: HttpRequest, template: str, context: Mapping[str, Any]) -> HttpResponse:
    """Render a page; one that shows a refused form says so on top and in its status."""
    refused = [form for form in _forms_in(context.values()) if form.is_bound and form.errors]
    if request.method != "POST" or not refused:
        return render(request, template, dict(context))
    moved_on = [opened for form in refused if (opened := opened_by(form)) and opened.has_moved_on]
    return render(
        request,
        template,
        {**context, "refusals": [fault for form in refused for fault in _faults(form)]},
        status=409 if moved_on else 422,
    )


def _forms_in(values: Iterable[Any]) -> Iterator[forms.BaseForm]:
    """Find the forms a page shows, by themselves, in lists, or as rows beside what they are about."""
    for value in values:
        if isinstance(value, forms.BaseForm):
            yield value
        elif isinstance(value, BaseFormSet):
            yield from value.forms
        elif isinstance(value, list | tuple | dict):
            yield from _forms_in(value.values() if isinstance(value, dict) else value)


@dataclass(frozen=True)
class Fault:
    """Why a form was refused: at which field, so that the summary can lead there."""

    label: str
    target: str
    words: str


def _faults(form: forms.BaseForm) -> Iterator[Fault]:
    for name, errors in form.errors.items():
        # A hidden field cannot be gone to.
        seen = name in form.fields and not form[name].is_hidden
        label = str(form[name].label) if seen else ""
        for words in errors:
            yield Fault(label, _target(form[name]) if seen else "", str(words))


def _target(bound: forms.BoundField) -> str:
    """Return the id of what takes the focus: of several buttons the first."""
    return bound.id_for_label or f"{bound.auto_id}_0"


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
