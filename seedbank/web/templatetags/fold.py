"""A fold of a form: closed until it is asked for, open when something inside is wrong."""

from typing import Any

from django import template
from django.template.base import NodeList, Parser, Token
from django.template.context import Context
from django.template.defaulttags import TemplateIfParser
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


class FoldNode(template.Node):
    """Lays out its contents first, and then knows whether they have to be seen."""

    def __init__(self, condition: Any, contents: NodeList) -> None:
        self.condition = condition
        self.contents = contents

    def render(self, context: Context) -> SafeString:
        inside = self.contents.render(context)
        is_open = 'class="error"' in inside or (self.condition and self.condition.eval(context))
        return format_html("<details{}>{}</details>", " open" if is_open else "", inside)


@register.tag
def fold(parser: Parser, token: Token) -> FoldNode:
    """Write `{% fold %}` or `{% fold when it stands open anyhow %}`, and close it by `{% endfold %}`."""
    _name, *bits = token.split_contents()
    condition = TemplateIfParser(parser, bits).parse() if bits else None
    contents = parser.parse(("endfold",))
    parser.delete_first_token()
    return FoldNode(condition, contents)
