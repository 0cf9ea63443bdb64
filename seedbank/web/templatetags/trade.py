"""How names, shares and seed counts are written on every page, slip and label."""

import datetime
from collections.abc import Sequence
from dataclasses import replace

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from crosses.calc.names import Run, read_or_plain, write_runs
from crosses.calc.rates import Share, written_percent

register = template.Library()


@register.filter
def written_name(text: str) -> SafeString:
    """Write a plant name or formula with genus and epithets in italics and the sign upright."""
    return _set(write_runs(read_or_plain(text or "")))


@register.filter
def short_name(text: str) -> SafeString:
    """Write a name as on a small button: of the genus only its letter, where more follows."""
    first, *others = write_runs(read_or_plain(text))
    genus, space, rest = first.text.partition(" ")
    if first.italic and (rest or others):
        first = replace(first, text=f"{genus[0]}.{space}{rest}")
    return _set([first, *others])


def _set(runs: Sequence[Run]) -> SafeString:
    return format_html_join(
        "", "{}", ((format_html("<i>{}</i>" if run.italic else "{}", run.text),) for run in runs)
    )


@register.inclusion_tag("pieces/rate.html")
def rate(share: Share | None, of: str = "seeds") -> dict[str, object]:
    """Show a share with its interval and the number it stands on; nothing known is said as such."""
    return {"share": share, "of": of}


@register.filter
def percent(value: float | None) -> str:
    """Write a share between 0 and 1 as whole percent."""
    return "" if value is None else written_percent(value)


@register.filter
def day(value: datetime.date | None) -> str:
    """Write a day as 7 May 2026, which nobody reads as another day."""
    return "" if value is None else f"{value.day} {value:%b %Y}"
