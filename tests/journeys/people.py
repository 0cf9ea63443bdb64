"""Walking through the pages as a member would: fill in what a page shows, press its button."""

import datetime
from html.parser import HTMLParser
from typing import Any

from django.test import Client

from seedbank.members.models import Member


class _Fields(HTMLParser):
    """Collects the values that the form with the most fields on a page was shown with."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[dict[str, Any]] = []
        self.names: set[str] = set()
        self._select: str | None = None
        self._textarea: str | None = None

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = dict(attributes)
        if tag == "form":
            self.forms.append({})
        if not self.forms or (not given.get("name") and tag != "option"):
            return
        self.names.add(given.get("name") or "")
        name, value, form = given.get("name"), given.get("value") or "", self.forms[-1]
        if tag == "input":
            kind = given.get("type", "text")
            if kind not in {"checkbox", "radio"}:
                form[name] = value
            elif "checked" in given:
                form[name] = value or "on"
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select is not None:
            # Without a choice a browser sends the first.
            if "selected" in given or self._select not in form:
                form[self._select] = value
        elif tag == "textarea":
            self._textarea = name
            form[name] = ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = None
        if tag == "textarea":
            self._textarea = None

    def handle_data(self, data: str) -> None:
        if self._textarea is not None:
            self.forms[-1][self._textarea] += data


class Visitor:
    """A member with a browser that has scripts off."""

    def __init__(self, member: Member) -> None:
        self.member = member
        self.client = Client()
        self.client.force_login(member)

    def see(self, path: str, status: int = 200) -> str:
        """Open a page and return its text."""
        response = self.client.get(path, follow=True)
        assert response.status_code == status, f"{path}: {response.status_code}"
        return response.content.decode()

    def fill(self, path: str, **typed: Any) -> str:
        """Open a page, change what is typed, press the button; return the page one lands on."""
        reader = _Fields()
        reader.feed(self.see(path))
        assert reader.forms, f"{path} has no form"
        form = max(reader.forms, key=len)
        unknown = set(typed) - reader.names
        assert not unknown, f"{path} has no field {unknown}"
        response = self.client.post(
            path, {**form, **{k: _written(v) for k, v in typed.items()}}, follow=True
        )
        self.landed = response.redirect_chain[-1][0] if response.redirect_chain else path
        return response.content.decode()

    def press(self, path: str, **values: Any) -> str:
        """Press a button that is a form of its own."""
        response = self.client.post(path, {k: _written(v) for k, v in values.items()}, follow=True)
        assert response.status_code in {200, 422}, f"{path}: {response.status_code}"
        self.landed = response.redirect_chain[-1][0] if response.redirect_chain else path
        return response.content.decode()

    @property
    def number(self) -> str:
        """The number of what one has just landed on."""
        return [part for part in self.landed.split("?")[0].split("/") if part][1]


def _written(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime.date) else value
