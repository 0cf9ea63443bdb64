"""What a field may say is kept by the database, so that no import, shell or script goes round it."""

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction

from tests.factories.crosses import make_plant, make_pollination
from tests.factories.sowings import make_sowing, packet_in_hand

FIELDS = [
    (model, field)
    for model in apps.get_models()
    if model.__module__.split(".")[0] in {"crosses", "seedbank"}
    and not model.__name__.startswith("Historical")
    for field in model._meta.local_concrete_fields
    if field.choices
]


def test_there_are_such_fields():
    assert len(FIELDS) > 35


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("model", "field"), FIELDS, ids=lambda part: getattr(part, "__name__", None) or part.name
)
def test_the_database_refuses_what_a_field_does_not_offer(model, field):
    name = f"{model._meta.model_name}_{field.name}_known"
    with connection.cursor() as cursor:
        found = connection.introspection.get_constraints(cursor, model._meta.db_table)
    assert found[name]["check"], f"Write @keep_choices above {model.__name__}."


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("make", "field"),
    [
        (make_plant, "style_form"),
        (make_plant, "origin"),
        (make_pollination, "state"),
        (make_pollination, "tool"),
        (packet_in_hand, "state"),
        (make_sowing, "light"),
    ],
)
def test_a_word_of_ones_own_is_refused_whoever_writes_it(make, field, tansy):
    records = type(make(tansy))._default_manager
    with pytest.raises(IntegrityError, match="_known"), transaction.atomic():
        records.update(**{field: "odd"})
