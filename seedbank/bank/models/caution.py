from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.withdrawal import Withdrawable
from seedbank.calc.cautions import Rule


@keep_choices
class CautionRule(Withdrawable):
    """What is known to be asked of seed, here or at a destination: data the society maintains.

    A rule reminds; it never clears a parcel. See `seedbank.calc.cautions` for what each kind does.
    """

    class Kind(models.TextChoices):
        SMALL_LOTS = "small_lots", "limits of small lots of seed"
        CERTIFICATE = "certificate", "phytosanitary certificate"
        IMPORT_PERMIT = "import_permit", "import permit or permitted species"
        PARENTAGE = "parentage", "full parentage of hybrids"
        SPECIES_NEEDED = "species_needed", "species must be named"
        PROTECTED = "protected", "protected species"
        PROHIBITED_GENUS = "prohibited_genus", "prohibited or controlled genus"
        POISONOUS = "poisonous", "poisonous seed"
        WILD_COLLECTED = "wild_collected", "seed collected in the wild"

    class Level(models.TextChoices):
        CAUTION = "caution", "to be read"
        ASK = "ask", "to be asked about before posting"
        HOLD = "hold", "holds the parcel until somebody gives a reason"

    rule = models.CharField("name", max_length=120, unique=True)
    kind = models.CharField(max_length=16, choices=Kind.choices)
    level = models.CharField(max_length=8, choices=Level.choices)
    words = models.TextField("what it says")
    label_words = models.CharField(
        "words on list, label and slip",
        max_length=120,
        blank=True,
        help_text="Short; carried by every packet of these genera. Empty: none.",
    )
    source = models.TextField("where it comes from")
    checked_on = models.DateField("read on")
    checked_by = models.CharField("read by", max_length=120)
    destinations = models.JSONField("countries it is about", default=list, blank=True)
    unless_from = models.JSONField("unless sent from", default=list, blank=True)
    genera = models.JSONField("genera it is about", default=list, blank=True)
    most_packets = models.PositiveIntegerField("packets a shipment, at most", null=True, blank=True)
    most_seeds = models.PositiveIntegerField("seeds a packet, at most", null=True, blank=True)
    most_grams = models.FloatField("grams a packet, at most", null=True, blank=True)
    exempts_raised_hybrids = models.BooleanField("hybrids raised by hand are exempt", default=False)
    history = HistoricalRecords()

    class Meta(Withdrawable.Meta):
        ordering = ["rule"]
        constraints = [
            *Withdrawable.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(rule="") & ~Q(words="") & ~Q(source="") & ~Q(checked_by=""),
                name="caution_rule_has_words_and_source",
                violation_error_message="A rule needs its words, its source and who read it.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="small_lots")
                | Q(most_packets__isnull=False, most_seeds__isnull=False, most_grams__isnull=False),
                name="caution_rule_small_lots_has_limits",
                violation_error_message="A rule of small lots needs all three limits.",
            ),
        ]

    def __str__(self) -> str:
        return self.rule

    def as_rule(self) -> Rule:
        """Return the rule as `calc` reckons with it."""
        return Rule(
            rule=self.rule,
            kind=self.kind,
            level=self.level,
            words=self.words,
            source=self.source,
            checked_on=self.checked_on,
            checked_by=self.checked_by,
            label_words=self.label_words,
            destinations=frozenset(self.destinations),
            unless_from=frozenset(self.unless_from),
            genera=frozenset(self.genera),
            most_packets=self.most_packets,
            most_seeds=self.most_seeds,
            most_grams=self.most_grams,
            exempts_raised_hybrids=self.exempts_raised_hybrids,
        )
