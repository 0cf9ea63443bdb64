"""The shape of what scripts send. Whether it is allowed is for the acts to say."""

from typing import Any

from rest_framework import serializers

from crosses.calc.checkdigit import read_number
from crosses.calc.errors import BadInput
from seedbank.api.filters import not_known

# What the databases hold in a whole number; more seed than this nobody has.
MOST_SEEDS = 2_000_000_000


class Sent(serializers.Serializer[Any]):
    """What is sent; a word nobody knows is refused, not passed over."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict) and (unknown := sorted(set(data) - set(self.fields))):
            known = set(self.fields)
            raise serializers.ValidationError({name: [not_known(name, known)] for name in unknown})
        return super().to_internal_value(data)


class NumberField(serializers.CharField):
    """A number with check digits, however it is typed; a mistyped digit is told."""

    def __init__(self, kind: str, **options: Any) -> None:
        self.kind = kind
        super().__init__(max_length=40, **options)

    def to_internal_value(self, data: Any) -> str:
        try:
            return read_number(super().to_internal_value(data), kind=self.kind)
        except BadInput as wrong:
            raise serializers.ValidationError(wrong.message) from wrong
