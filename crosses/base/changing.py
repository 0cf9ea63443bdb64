"""A form of change carries the version it was opened with: nobody wipes what they have not read."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from django import forms
from django.db import transaction
from django.http import HttpRequest, QueryDict

from crosses.base.refusal import Refused
from crosses.base.version import Versioned, version_now

VERSION = "version"
# What is said of the act and stands in its history: it is not written in the record.
SAID_OF_THE_ACT = frozenset({"why", "reason", "client_key"})

Form = TypeVar("Form", bound=forms.BaseForm)
Record = TypeVar("Record", bound=Versioned)


@dataclass(frozen=True)
class Difference:
    """A field that says one thing in the record and another in the form."""

    label: str
    written: str
    typed: str


@dataclass
class Opened:
    """The record that a form changes; `blank` makes the form as it would be opened now."""

    record: Versioned
    blank: Callable[[Any], forms.BaseForm] | None
    has_moved_on: bool = False
    differences: tuple[Difference, ...] = ()
    version: int = 0


def change_form(
    request: HttpRequest, record: Record, build: Callable[[QueryDict | None, Record], Form]
) -> Form:
    """Make the form that changes a record, filled with what is written or with what was sent."""
    form = build(request.POST if request.method == "POST" else None, record)
    _open(form, Opened(record, lambda fresh: build(None, fresh), version=record.version))
    return form


def acts_on(record: Versioned | None, form: Form) -> Form:
    """Say which record a form acts on that does not show what is written there."""
    if record is not None and record.pk is not None:
        _open(form, Opened(record, None, version=record.version))
    return form


def _open(form: forms.BaseForm, opened: Opened) -> None:
    form.opened = opened  # type: ignore[attr-defined]


def opened_by(form: Any) -> Opened | None:
    return getattr(form, "opened", None)


def version_of_form(form: Any) -> str | int | None:
    """Return the version that a form is to carry, if it changes a record."""
    opened = opened_by(form)
    if opened is None:
        return None
    # A form refused for another reason is still of the version that its writer has read.
    if form.is_bound and not opened.has_moved_on and form.data.get(VERSION):
        return str(form.data[VERSION])
    return opened.version


@contextmanager
def unless_moved_on(form: forms.BaseForm) -> Iterator[None]:
    """Hold the record that a form changes; refuse if it was changed since the form was opened."""
    opened = opened_by(form)
    sent = str(form.data.get(VERSION, "")) if opened else ""
    if opened is None or not sent.isdigit():
        yield
        return
    with transaction.atomic():
        opened.version = version_now(opened.record)
        if opened.version != int(sent):
            _refuse_if_different(form, opened)
        yield


def _refuse_if_different(form: forms.BaseForm, opened: Opened) -> None:
    if opened.blank is not None:
        fresh = type(opened.record)._default_manager.get(pk=opened.record.pk)  # noqa: SLF001
        opened.differences = _differences(form, opened.blank(fresh))
        if not opened.differences:
            return
    opened.has_moved_on = True
    raise Refused(
        "moved-on",
        "This was changed after you opened the page, by somebody else or in another window. Nothing"
        " is written yet: look at what is written now, then send yours again or leave it.",
    )


def _differences(form: forms.BaseForm, now: forms.BaseForm) -> tuple[Difference, ...]:
    names = [
        name
        for name, field in form.fields.items()
        if name in now.fields
        and name not in SAID_OF_THE_ACT
        and field.has_changed(now[name].initial, form[name].data)
    ]
    return tuple(
        Difference(str(form[name].label), in_words(now[name]), in_words(form[name]))
        for name in names
    )


def in_words(bound: forms.BoundField) -> str:
    """Write what stands in a field as its reader would say it."""
    value = bound.value()
    if isinstance(bound.field, forms.BooleanField):
        return "yes" if value else "no"
    choices = getattr(bound.field, "choices", None)
    if choices is not None:
        chosen = {str(one) for one in (value if isinstance(value, list | tuple) else [value])}
        return ", ".join(str(label) for key, label in choices if str(key) in chosen) or "–"
    shown = bound.field.widget.format_value(value)
    return str(shown) if shown not in (None, "", []) else "–"
