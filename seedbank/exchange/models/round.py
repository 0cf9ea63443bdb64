import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.version import Versioned
from seedbank.calc.pseudonym import pseudonym


@keep_choices
class Round(Versioned):
    """One exchange: its dates, its rules and its draw."""

    class Policy(models.TextChoices):
        TURNS = "turns", "in turns, one packet a turn"
        STRAIGHT = "straight", "one member after the other"
        EVEN = "even", "as evenly as can be"

    slug = models.SlugField(
        unique=True, help_text="Stands in addresses and in the draw: seed-exchange-2026."
    )
    name = models.CharField(max_length=120)
    donations_close_at = models.DateTimeField(null=True, blank=True)
    list_opens_at = models.DateTimeField()
    wishes_close_at = models.DateTimeField()
    posting_from = models.DateField(null=True, blank=True)
    rules_text = models.TextField(blank=True)
    price_text = models.CharField("what it costs", max_length=300, blank=True)
    policy = models.CharField(max_length=8, choices=Policy.choices, default=Policy.TURNS)
    allowance = models.PositiveSmallIntegerField("packets a member", default=20)
    donor_extra = models.PositiveSmallIntegerField("packets more for a donor", default=10)
    # ISO 3166-1 code to packets: what a member there may have in place of the allowance.
    country_allowances = models.JSONField("packets by country", default=dict, blank=True)
    donor_from_lots = models.PositiveSmallIntegerField("lots that make a donor", default=1)
    copies_per_line = models.PositiveSmallIntegerField("packets of one line a member", default=1)
    reserves = models.PositiveSmallIntegerField("reserve wishes a member", default=10)
    head_start_passes = models.PositiveSmallIntegerField(
        "passes that donors have for themselves", default=0
    )
    household_shares_cap = models.BooleanField(
        "one household counts as one for each line", default=False
    )
    kept_back = models.PositiveSmallIntegerField("packets of each lot kept for the bank", default=0)
    listed_at = models.DateTimeField(null=True, blank=True, editable=False)
    # The draw: the commitment is public from the opening on, the secret only after the closing.
    draw_secret = models.CharField(max_length=64, blank=True, editable=False)
    # Members stand under pseudonyms in what is published; who has the key can tell whose they are. A
    # round drawn by member numbers, before there were any, has none.
    pseudonym_key = models.CharField(max_length=64, blank=True, editable=False)
    draw_commitment = models.CharField(max_length=64, blank=True, editable=False)
    # Published when wishes have closed and before the public value is known: the digest of all the
    # draw is shared out from, so that nobody can change stock or wishes to suit the draw.
    frozen_at = models.DateTimeField(null=True, blank=True, editable=False)
    frozen_digest = models.CharField(max_length=64, blank=True, editable=False)
    public_value_name = models.CharField(
        "public value",
        max_length=200,
        blank=True,
        help_text="What will be read after closing, for instance a state lottery's draw of a named day.",
    )
    public_value = models.CharField(max_length=200, blank=True)
    announced_at = models.DateTimeField(null=True, blank=True, editable=False)
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    history = HistoricalRecords(excluded_fields=["draw_secret", "pseudonym_key"])

    class Meta:
        ordering = ["-list_opens_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(wishes_close_at__gt=F("list_opens_at")),
                name="round_closes_after_opening",
                violation_error_message="Wishes close after the list opens.",
            ),
            models.CheckConstraint(
                condition=Q(donations_close_at__isnull=True)
                | Q(donations_close_at__lte=F("list_opens_at")),
                name="round_donations_before_list",
                violation_error_message="Donations close before the list opens.",
            ),
            models.CheckConstraint(
                condition=Q(allowance__gte=1, copies_per_line__gte=1),
                name="round_gives_something",
                violation_error_message="A round gives a member one packet or more.",
            ),
            models.CheckConstraint(
                condition=Q(listed_at__isnull=True)
                | (~Q(draw_commitment="") & ~Q(public_value_name="")),
                name="round_listed_with_commitment",
                violation_error_message="The draw is committed to before the list is published.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_published(self) -> bool:
        return self.listed_at is not None

    @property
    def is_announced(self) -> bool:
        return self.announced_at is not None

    def name_published(self, member_number: str) -> str:
        """Return what stands for a member in the files of this round's runs."""
        key = bytes.fromhex(self.pseudonym_key)
        return pseudonym(key, member_number) if key else member_number

    def takes_wishes_at(self, moment: datetime.datetime) -> bool:
        return self.is_list_open_at(moment) and moment < self.wishes_close_at

    def is_list_open_at(self, moment: datetime.datetime) -> bool:
        return self.is_published and self.list_opens_at <= moment
