"""What a field may say, kept by the database as well as by the forms."""

from typing import TypeVar

from django.db import models

Model = TypeVar("Model", bound=type[models.Model])


def keep_choices(model: Model) -> Model:
    """Let the database refuse any value that a field with choices does not offer.

    A class decorator: forms look at choices, but an import, a shell or a script does not. The list
    is taken from the field itself, so that a new choice needs its migration and no second list.
    """
    options = model._meta  # noqa: SLF001  the documented name of a model's options
    constraints = [
        *options.constraints,
        *(
            models.CheckConstraint(
                condition=models.Q(**{f"{field.name}__in": _values(field)}),
                name=f"{options.model_name}_{field.name}_known",
                violation_error_message="Choose one of the answers that are offered.",
            )
            for field in options.local_concrete_fields
            if field.choices
        ),
    ]
    options.constraints = constraints
    # What migrations read a model's constraints from.
    options.original_attrs["constraints"] = constraints
    return model


def _values(field: models.Field) -> list[str]:  # type: ignore[type-arg]
    values = [str(value) for value, _label in field.flatchoices]
    return ["", *values] if field.blank and "" not in values else values
