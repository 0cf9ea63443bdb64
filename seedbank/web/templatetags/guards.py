"""What every form sends along unseen: the guard against forgery, its key, the version it changes."""

import uuid
from typing import Any

from django import template
from django.template.context import RequestContext
from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString

from crosses.base.changing import VERSION, opened_by, version_of_form
from crosses.base.sending import FORM_KEY

register = template.Library()

_HIDDEN = '<input type="hidden" name="{}" value="{}">'


@register.simple_tag(takes_context=True, name="csrf_token")
def guards(context: RequestContext) -> SafeString:
    """Stand in for Django's tag of the same name, so that no form can be without the others."""
    token = context.get("csrf_token")
    if not token or token == "NOTPROVIDED":  # noqa: S105  what Django says where there is none
        return SafeString("")
    hidden: list[tuple[str, Any]] = [
        ("csrfmiddlewaretoken", token),
        (FORM_KEY, uuid.uuid4()),
    ]
    version = version_of_form(context.get("form"))
    if version is not None:
        hidden.append((VERSION, version))
    inputs = "".join(format_html(_HIDDEN, name, value) for name, value in hidden)
    return SafeString(inputs + _moved_on(context.get("form")))


def _moved_on(form: Any) -> str:
    """Lay out both texts in the form that was refused, with a button to write its own."""
    opened = opened_by(form)
    if opened is None or not opened.has_moved_on:
        return ""
    return render_to_string("pieces/moved_on.html", {"differences": opened.differences})
