"""The request of somebody who has signed in, as views receive it."""

from django.http import HttpRequest

from seedbank.members.models import Member


class MemberRequest(HttpRequest):
    """A request behind the sign-in; the middleware lets no other through to our pages."""

    user: Member
