"""What the schema cannot find out by itself."""

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class KeyInSchema(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers itself
    target_class = "seedbank.api.authentication.TokenAuthentication"
    name = "key"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}
