"""Forms about oneself."""

import datetime
from collections.abc import Iterable
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordResetForm

from crosses.base.clock import now
from crosses.base.countries import COUNTRY_CHOICES
from seedbank.members.actions.sign_in import forget_wrong_tries, must_wait, note_wrong_try
from seedbank.members.models import ApiToken, Member
from seedbank.members.queries import members_who_may_reset


class SignInForm(AuthenticationForm):
    """E-mail and password; after five wrong tries one waits a quarter of an hour."""

    error_messages = {
        "invalid_login": "E-mail and password do not go together. Check both, or set a new password.",
        "inactive": "This member may not sign in any more. Ask the administrator.",
    }

    def clean(self) -> dict[str, Any]:
        email = self.cleaned_data.get("username", "")
        address = self.request.META.get("REMOTE_ADDR", "") if self.request else ""
        if must_wait(email, address, at=now()):
            raise forms.ValidationError(
                "Too many wrong tries. Wait a quarter of an hour, or set a new password.",
                code="wait",
            )
        try:
            cleaned = super().clean()
        except forms.ValidationError:
            note_wrong_try(email, address, at=now())
            raise
        forget_wrong_tries(email, address)
        return cleaned


class ResetForm(PasswordResetForm):
    """Where the link goes; says the same whether there is such a member or not."""

    def get_users(self, email: str) -> Iterable[Member]:
        return members_who_may_reset(email)


class AddressForm(forms.Form):
    """A postal address in free lines: every country writes its own way."""

    lines = forms.CharField(
        max_length=500,
        label="Address",
        widget=forms.Textarea(attrs={"rows": 5, "autocomplete": "street-address"}),
        help_text="As your post office wants it, without your name and the country.",
    )
    country = forms.ChoiceField(
        choices=COUNTRY_CHOICES,
        label="Country",
        help_text="Which seed may be sent to you follows from it.",
    )


class CalendarForm(forms.Form):
    """Which calendar will read a secret address."""

    name = forms.CharField(max_length=60, label="Which calendar", initial="My phone")


class TokenForm(forms.Form):
    """A key to the API."""

    name = forms.CharField(max_length=60, label="What you will use it for")
    days = forms.IntegerField(min_value=1, max_value=366, initial=90, label="Days it lives")
    scope = forms.ChoiceField(
        choices=ApiToken.Scope.choices,
        initial=ApiToken.Scope.READ,
        label="It may",
        help_text="Let it do no more than its script needs. A key never does what you may not do.",
    )

    def life(self) -> datetime.timedelta:
        return datetime.timedelta(days=self.cleaned_data["days"])
