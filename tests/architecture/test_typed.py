"""Every number with decimals and every day of every form is read as people type it."""

import datetime
import importlib
import pkgutil
import re
from decimal import Decimal

import pytest
from django import forms
from django.core.exceptions import ValidationError

import crosses
import seedbank
from crosses.base import typed
from crosses.base.fact_forms import FactsForm, input_of

KINDS = {
    forms.DecimalField: typed.DecimalField,
    forms.FloatField: typed.FloatField,
    forms.DateField: typed.DateField,
}


def forms_of_ours():
    """Find the forms of the house; the admin's own are the framework's."""
    for package in (crosses, seedbank):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            if "forms" in module.name.rpartition(".")[0] or module.name.endswith("forms"):
                importlib.import_module(module.name)
    waiting = [forms.BaseForm]
    while waiting:
        waiting += (found := waiting.pop()).__subclasses__()
        if (
            found.__module__.startswith(("crosses.", "seedbank."))
            and "admin" not in found.__module__
        ):
            yield found


def fields_of(form):
    yield from form.base_fields.items()
    if issubclass(form, FactsForm) and hasattr(form, "declared"):
        for fact in form.declared.written(making=form.is_for_making):
            if fact.name not in form.base_fields:
                yield fact.name, input_of(form.declared, fact)


FIELDS = {
    f"{form.__qualname__}.{name}": field
    for form in forms_of_ours()
    for name, field in fields_of(form)
    if isinstance(field, tuple(KINDS))
}


def test_there_are_such_fields():
    kinds = {type(field) for field in FIELDS.values()}
    assert kinds >= {typed.DecimalField, typed.FloatField, typed.DateField}
    assert "HarvestForm.clean_grams" in FIELDS
    assert "LotForm.storage_moisture_percent" in FIELDS


@pytest.mark.parametrize("name", FIELDS)
def test_each_is_of_the_kind_that_reads_what_is_typed(name):
    assert isinstance(FIELDS[name], tuple(KINDS.values()))


@pytest.mark.parametrize(
    "name", [name for name, field in FIELDS.items() if not isinstance(field, forms.DateField)]
)
def test_a_decimal_comma_is_a_point_and_no_box_of_the_browser_drops_it(name):
    field = FIELDS[name]
    assert field.to_python("0,41") == field.to_python("0.41")
    assert float(field.to_python("0,41")) == pytest.approx(0.41)
    assert field.widget.input_type == "text"
    assert field.widget.attrs["inputmode"] == "decimal"
    for twice in ("1.234,5", "1,2,3", "1.2.3"):
        with pytest.raises(ValidationError, match=re.escape("0.41 or 0,41")):
            field.to_python(twice)


@pytest.mark.parametrize(
    "name", [name for name, field in FIELDS.items() if isinstance(field, forms.DateField)]
)
def test_a_day_may_be_typed_with_the_day_first(name):
    field = FIELDS[name]
    wanted = datetime.date(2026, 11, 30)
    for words in ("2026-11-30", "30.11.2026", "30/11/2026"):
        assert field.to_python(words) == wanted
    # November has thirty days; a month that stands first is not guessed.
    for wrong in ("31.11.2026", "31/11/2026", "11/30/2026", "30.11.26"):
        with pytest.raises(ValidationError, match=re.escape("30.11.2026 or 30/11/2026")):
            field.to_python(wrong)


def test_grams_of_a_harvest_typed_with_a_comma_are_not_forty_one():
    field = FIELDS["HarvestForm.clean_grams"]
    assert field.clean("0,41") == Decimal("0.41")
