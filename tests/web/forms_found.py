"""The forms that the pages of the site show, found by walking all of them as those who see them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import urlsplit

from django.test import Client
from django.urls import resolve, reverse

from tests.browser.pages import PAGES


@dataclass
class Form:
    """A form as a browser would send it: where to, and every input with what stands in it."""

    action: str
    sender: str = ""
    fields: dict[str, list[str]] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)

    @property
    def url_name(self) -> str:
        return resolve(urlsplit(self.action).path).url_name or ""

    def says(self, name: str, value: str, kind: str) -> None:
        self.fields.setdefault(name, []).append(value)
        self.kinds[name] = kind


class _Reader(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.page, self.forms, self.ids = page, [], []
        self.form: Form | None = None
        self.text: str | None = None
        self.select = ""
        self.first: str | None = None

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        told = {name: value or "" for name, value in attrs}
        if told.get("id"):
            self.ids.append(told["id"])
        if tag == "form" and told.get("method") == "post":
            self.form = Form(told.get("action") or self.page)
            self.forms.append(self.form)
        name = told.get("name", "")
        if self.form is None:
            return
        if tag == "input" and name:
            kind = told.get("type", "text")
            if kind in {"checkbox", "radio"}:
                self.form.kinds[name] = kind
                if "checked" in told:
                    self.form.says(name, told.get("value") or "on", kind)
            elif kind != "file":
                self.form.says(name, told.get("value", ""), kind)
        if tag == "textarea" and name:
            self.form.says(name, "", "textarea")
            self.text = name
        if tag == "select" and name:
            self.select, self.first = name, None
            self.form.kinds[name] = "select"
        if tag == "option" and self.select:
            if self.first is None:
                self.first = told.get("value", "")
            if "selected" in told:
                self.form.says(self.select, told.get("value", ""), "select")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.form = None
        if tag == "textarea":
            self.text = None
        if tag == "select" and self.select:
            if self.form is not None and self.select not in self.form.fields:
                self.form.says(self.select, self.first or "", "select")
            self.select = ""

    def handle_data(self, data: str) -> None:
        if self.text and self.form is not None:
            self.form.fields[self.text][-1] += data.removeprefix("\n")


def read_forms(html: str, page: str) -> tuple[list[Form], list[str]]:
    """Return the forms of a page that are sent by POST, and every id on it."""
    reader = _Reader(html)
    reader.page = page
    reader.feed(html)
    return reader.forms, reader.ids


def walk(where: dict[str, dict[str, Any]], clients: dict[str, Client]) -> list[Form]:
    """Open every page as each who sees it, and return the forms on it."""
    found = []
    for page in PAGES:
        for name in page.seen_by:
            address = reverse(page.url_name, kwargs=where.get(page.where, {})) + page.query
            answer = clients[name].get(address)
            if answer.status_code != 200:
                continue
            for form in read_forms(answer.content.decode(), address)[0]:
                form.sender = name
                found.append(form)
    return found
