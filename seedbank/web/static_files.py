"""How the files that pages load are named and sent."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from whitenoise.storage import CompressedManifestStaticFilesStorage

# The code reader is WebAssembly. It runs in a worker, and a worker goes by the policy it is sent
# with, so that no page of ours needs to allow this.
READER_WORKER = "web/js/scan/worker"
READER_POLICY = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'"


class Storage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # it has no types
    """Names that change with the content, in the modules' imports too."""

    support_js_module_import_aggregation = True


def headers_of_static_file(headers: dict[str, str], path: str, url: str) -> None:
    if READER_WORKER in url:
        headers["Content-Security-Policy"] = READER_POLICY


def permissions_policy(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Let our own pages ask for the camera, to scan codes, and for nothing else."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        response.headers.setdefault(
            "Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"
        )
        return response

    return middleware
