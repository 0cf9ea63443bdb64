"""What is sent and told of a record, made from what is declared of it."""

from operator import attrgetter
from typing import Any, ClassVar

from django.db import models
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crosses.base.facts import Fact, RecordFacts
from seedbank.api.serializers.writing import Sent

LONGEST_TEXT = 5000
# Countries are told by their code alone.
MOST_CHOICES_TOLD = 40
_WHY = "Why it is changed; it stands in the record's history."
_OWNERS = "Null where the record is not yours."
_builder: Any = serializers.ModelSerializer()


@extend_schema_field({"type": "string", "pattern": r"^\d\d:\d\d:\d\d$"})
class TimeOfDay(serializers.TimeField):
    """The clock where the flower stood; a time with a zone would say more than is known."""

    def __init__(self, **options: Any) -> None:
        super().__init__(format="%H:%M:%S", **options)


class SentFacts(Sent):
    """What is sent to make a record; a field that is written out in the class is left as it is."""

    declared: ClassVar[RecordFacts]
    is_for_making: ClassVar[bool] = True
    by_hand: ClassVar[tuple[str, ...]] = ()

    def get_fields(self) -> Any:
        fields = super().get_fields()
        for fact in self.declared.written(making=self.is_for_making):
            if fact.name not in self.by_hand and fact.api_name not in fields:
                fields[fact.api_name] = sent_field(
                    self.declared, fact, may_be_needed=self.is_for_making
                )
        return fields


class ChangedFacts(SentFacts):
    """A correction: what is sent is changed, and why."""

    is_for_making = False

    why = serializers.CharField(max_length=100, help_text=_WHY)


class ToldFacts(serializers.Serializer[Any]):
    """Tells of a record whatever may be written of it; what is its owner's to the owner alone.

    `facts_at` is the path from what is serialized to the record; the facts stand behind the field
    `facts_after`, and what is written out in the class is left as it is.
    """

    declared: ClassVar[RecordFacts]
    facts_at: ClassVar[str] = ""
    facts_after: ClassVar[str] = "number"

    def get_fields(self) -> Any:
        by_hand: dict[str, Any] = super().get_fields()
        facts = {
            fact.api_name: told_field(self.declared, fact, self.facts_at)
            for fact in self.declared
            if fact.api_name not in by_hand
        }
        names = list(by_hand)
        place = names.index(self.facts_after) + 1 if self.facts_after else 0
        return {
            name: by_hand.get(name) or facts[name]
            for name in (*names[:place], *facts, *names[place:])
        }

    def to_representation(self, instance: Any) -> Any:
        told = super().to_representation(instance)
        kept = [fact.api_name for fact in self.declared if fact.for_owner_only]
        if kept and not self._is_the_readers(instance):
            told |= dict.fromkeys(kept)
        return told

    def _is_the_readers(self, instance: Any) -> bool:
        path = f"{self.facts_at}.{self.declared.owner}".lstrip(".")
        owner, reader = attrgetter(path)(instance), self.context["request"].user
        return bool(reader.is_keeper if owner is None else owner == reader.pk)


def sent_field(declared: RecordFacts, fact: Fact, *, may_be_needed: bool) -> Any:
    field, bounds = declared.field(fact), declared.bounds(fact)
    kind, options = _builder.build_standard_field(fact.name, field)
    options = {name: value for name, value in options.items() if name in _SHAPE}
    options["required"] = may_be_needed and declared.is_needed(fact)
    if bounds.least is not None:
        options["min_value"] = bounds.least
    if bounds.most is not None:
        options["max_value"] = bounds.most
    if bounds.words:
        options["error_messages"] = dict.fromkeys(("min_value", "max_value"), bounds.words)
    if isinstance(field, models.TextField):
        options["max_length"] = LONGEST_TEXT
    return kind(**options, **_named(fact), **_help(fact.told))


def told_field(declared: RecordFacts, fact: Fact, at: str) -> Any:
    field = declared.field(fact)
    kind, found = _builder.build_standard_field(fact.name, field)
    options = {name: found[name] for name in ("choices", "allow_blank") if name in found}
    if isinstance(field, models.DecimalField):
        kind = serializers.FloatField
    elif isinstance(field, models.TimeField):
        kind = TimeOfDay
    elif len(options.get("choices", ())) > MOST_CHOICES_TOLD:
        kind, options = serializers.CharField, {}
    if "choices" not in options:
        options = {}
    if field.null or fact.for_owner_only:
        options["allow_null"] = True
    source = f"{at}.{fact.name}".lstrip(".")
    if source != fact.api_name:
        options["source"] = source
    words = f"{fact.told} {_OWNERS}".strip() if fact.for_owner_only else fact.told
    return kind(read_only=True, **options, **_help(words))


# What of a model's field goes over into what may be sent.
_SHAPE = {"choices", "allow_null", "allow_blank", "max_length", "max_digits", "decimal_places"}


def _named(fact: Fact) -> dict[str, str]:
    return {"source": fact.name} if fact.api else {}


def _help(words: str) -> dict[str, str]:
    return {"help_text": words} if words else {}
