"""People: members, their households, their addresses and their keys to the API."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from crosses.base.choices import keep_choices
from crosses.base.countries import COUNTRY_CHOICES
from crosses.base.version import Versioned


class Household(models.Model):
    """Members who live at one address and share what a household may have."""

    name = models.CharField(max_length=100, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class MemberManager(BaseUserManager["Member"]):
    """Makes members; the e-mail is the sign-in name."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Member":
        if not email:
            raise ValueError("A member needs an e-mail address.")
        member = self.model(email=self.normalize_email(email), **fields)
        member.set_password(password)
        member.save(using=self._db)
        return member

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "Member":
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)

    def get_by_natural_key(self, username: str | None) -> "Member":
        return self.get(email__iexact=username)


@keep_choices
class Member(AbstractBaseUser, PermissionsMixin):
    """A member of the society; what more than a member they may do comes from groups."""

    number = models.CharField("member number", max_length=20, unique=True)
    name = models.CharField(max_length=120)
    email = models.EmailField("e-mail", unique=True)
    country = models.CharField(max_length=2, choices=COUNTRY_CHOICES)
    language = models.CharField(max_length=8, default="en")
    household = models.ForeignKey(
        Household, null=True, blank=True, on_delete=models.SET_NULL, related_name="members"
    )
    donor_code = models.CharField(
        max_length=6,
        unique=True,
        null=True,
        blank=True,
        help_text="Stands in lists in place of the name.",
    )
    joined_on = models.DateField(null=True, blank=True)
    is_active = models.BooleanField("may sign in", default=True)
    is_staff = models.BooleanField("administrator", default=False)
    # Django would save the member at every sign-in, and each save is a line of history.
    last_login = None
    history = HistoricalRecords(excluded_fields=["password"])

    objects: ClassVar[MemberManager] = MemberManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["number", "name", "country"]

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="member_email_once",
                violation_error_message="Another member has this e-mail address.",
            ),
            models.CheckConstraint(
                condition=~Q(number="") & ~Q(name=""), name="member_has_number_and_name"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"

    @property
    def is_keeper(self) -> bool:
        return self.has_perm("bank.keep_bank")

    @property
    def is_packer(self) -> bool:
        return self.has_perm("exchange.pack_parcels")


@keep_choices
class Address(Versioned):
    """Where a member's parcel goes; apart from the member, so that no list carries it along."""

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="address")
    # Free lines: every country writes its addresses its own way, and we never rearrange them.
    lines = models.TextField(
        help_text="As the post office of that country wants it, without the country."
    )
    country = models.CharField(max_length=2, choices=COUNTRY_CHOICES)

    class Meta:
        verbose_name_plural = "addresses"
        constraints = [models.CheckConstraint(condition=~Q(lines=""), name="address_has_lines")]

    def __str__(self) -> str:
        return f"address of member {self.member_id}"


@keep_choices
class ApiToken(models.Model):
    """A key to the API; shown once, kept as a digest."""

    class Scope(models.TextChoices):
        READ = "read", "read"
        LOG = "log", "read, and write what a grower logs and wishes"
        KEEP = "keep", "all of that, and what a seed keeper does"

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="api_tokens")
    name = models.CharField(max_length=60, help_text="What you will use it for.")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    hint = models.CharField(
        max_length=6, editable=False, help_text="Its last characters, to tell keys apart."
    )
    created_at = models.DateTimeField(editable=False)
    expires_at = models.DateTimeField()
    scope = models.CharField("may", max_length=4, choices=Scope.choices, default=Scope.READ)
    last_used_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"{self.name} (...{self.hint})"

    @property
    def may_write(self) -> bool:
        return self.scope != self.Scope.READ

    @property
    def may_keep(self) -> bool:
        return self.scope == self.Scope.KEEP


class CalendarAddress(models.Model):
    """A secret address at which a calendar reads a member's watch list; kept as a digest."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="calendar_addresses")
    name = models.CharField(max_length=60, help_text="Which calendar reads it.")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(editable=False)
    last_read_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at"]
        verbose_name_plural = "calendar addresses"

    def __str__(self) -> str:
        return f"{self.name} of member {self.member_id}"


class DailyMail(models.Model):
    """A member who wants the day's work by mail, and the last day for which that was seen to."""

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="daily_mail")
    since = models.DateTimeField(editable=False)
    seen_to_on = models.DateField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["member"]

    def __str__(self) -> str:
        return f"daily mail to member {self.member_id}"


class Tally(models.Model):
    """How often something was done since a moment; in a table, so that all processes see one."""

    key = models.CharField(max_length=100, unique=True)
    times = models.PositiveIntegerField()
    ends_at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name_plural = "tallies"

    def __str__(self) -> str:
        return f"{self.key}: {self.times}"


class KeptAnswer(models.Model):
    """What a write by script was answered, so that the same write sent again is answered the same."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="kept_answers")
    key = models.CharField(max_length=255)
    # Of method, address and body: the same key with anything else is refused.
    digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    body = models.JSONField(null=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["member", "key"], name="answer_key_once_a_member")
        ]

    def __str__(self) -> str:
        return f"{self.key} of member {self.member_id}"


class UnsentMail(models.Model):
    """A mail that could not be sent, kept until it is sent again."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="unsent_mails")
    subject = models.CharField(max_length=200)
    body = models.TextField(blank=True)
    is_secret = models.BooleanField("holds a link of its own", default=False)
    # The work it belongs to, so that whoever asked for that work hears what did not go.
    batch = models.CharField(max_length=40, blank=True, db_index=True, editable=False)
    failed_at = models.DateTimeField("last tried")
    failure = models.CharField("what went wrong", max_length=300)

    class Meta:
        ordering = ["-failed_at", "-pk"]
        verbose_name = "mail not sent"
        verbose_name_plural = "mails not sent"
        constraints = [
            models.CheckConstraint(
                condition=Q(is_secret=False) | Q(body=""), name="secret_mail_is_not_kept"
            )
        ]

    def __str__(self) -> str:
        return f"{self.subject}, to member {self.member_id}"
