"""Sign-in with a personal token: `Authorization: Bearer ...`."""

from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from crosses.base.clock import now
from seedbank.members.actions.token import member_of_token
from seedbank.members.models import ApiToken, Member


class TokenAuthentication(BaseAuthentication):
    def authenticate(self, request: Request) -> tuple[Member, ApiToken] | None:
        words = get_authorization_header(request).decode("latin-1").split()
        if not words or words[0].lower() != "bearer":
            return None
        if len(words) != 2:
            raise AuthenticationFailed("Write: Authorization: Bearer, a space, and your token.")
        token = member_of_token(words[1], at=now())
        if token is None:
            raise AuthenticationFailed("This token is unknown, expired or revoked.")
        return token.member, token

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"
