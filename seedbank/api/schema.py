"""What the schema cannot find out by itself: keys, errors, and the headers every address knows."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension

from seedbank.api.errors import PROBLEMS

ROOT = "/api/v1/"
_PROBLEM = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}


class KeyInSchema(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers itself
    target_class = "seedbank.api.authentication.TokenAuthentication"
    name = "key"

    def get_security_definition(self, auto_schema: object) -> dict[str, str]:
        return {
            "type": "http",
            "scheme": "bearer",
            "description": "A key you make on your own page, sent as Authorization: Bearer KEY.",
        }


def add_manners(result: dict[str, Any], **_options: Any) -> dict[str, Any]:
    """Say at every address of ours how it errs, and which headers it sends and takes."""
    schemas = result["components"]["schemas"]
    for name, described in schemas.items():
        if name.endswith("Request"):
            # A word nobody knows is refused.
            described["additionalProperties"] = False
    schemas["Problem"] = _problem_schema()
    for path, methods in result["paths"].items():
        if not path.startswith(ROOT):
            continue
        for method, operation in methods.items():
            if method == "get":
                operation["responses"]["304"] = {"description": "You have this version already."}
            _say_tables(operation["responses"])
            _add_errors(operation["responses"])
            for status, response in operation["responses"].items():
                response["headers"] = response.get("headers", {}) | _headers_sent(method, status)
            operation.setdefault("parameters", []).extend(_headers_taken(method))
    return result


def _say_tables(responses: dict[str, Any]) -> None:
    for response in responses.values():
        if "text/csv" in response.get("content", {}):
            response["content"]["text/csv"] = {"schema": {"type": "string"}}


def _add_errors(responses: dict[str, Any]) -> None:
    responses["4XX"] = {"description": "It is refused, or cannot be read.", "content": _PROBLEM}
    responses["5XX"] = {"description": "Something is broken here.", "content": _PROBLEM}


def _headers_sent(method: str, status: str) -> dict[str, Any]:
    sent = {
        "RateLimit": _text("What is left of the limit, and for how many seconds it counts."),
        "RateLimit-Policy": _text("How many requests a member may send in how many seconds."),
    }
    if status == "4XX":
        sent["Retry-After"] = _text("Seconds to wait, where too many requests were sent.")
    if status == "200" and method in {"get", "put", "patch"}:
        sent["ETag"] = _text("The version of what is answered.")
    return sent


def _headers_taken(method: str) -> list[dict[str, Any]]:
    if method == "get":
        return [
            _header("If-None-Match", "The ETag you have; answered 304 where it is still that one.")
        ]
    taken = [
        _header(
            "Idempotency-Key",
            "A text you make for this one write. Sent again with the same body, the answer is the"
            " same and nothing is done twice; with another body it is refused (422). Kept 30 days.",
            required=True,
        )
    ]
    if method in {"put", "patch"}:
        words = "The ETag of the record as you read it; refused (412) where it has changed since."
        taken.append(_header("If-Match", words, required=True))
    return taken


def _header(name: str, description: str, *, required: bool = False) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": required,
        "description": description,
        "schema": {"type": "string"} | ({"minLength": 1, "maxLength": 255} if required else {}),
    }


def _text(description: str) -> dict[str, Any]:
    return {"description": description, "schema": {"type": "string"}}


def _problem_schema() -> dict[str, Any]:
    return {
        "type": "object",
        "description": "What went wrong (RFC 9457).",
        "required": ["type", "title", "status", "detail", "code", "errors"],
        "properties": {
            "type": {"type": "string", "format": "uri", "description": "Where it is explained."},
            "title": {"type": "string", "enum": list(PROBLEMS.values())},
            "status": {"type": "integer", "enum": list(PROBLEMS)},
            "detail": {"type": "string", "description": "What is wrong this time."},
            "code": {"type": "string", "description": "For programs."},
            "errors": {
                "type": "object",
                "description": "By field, what is wrong with it; empty where it is none's.",
            },
        },
    }
