"""Reading the inputs of a sharing-out from JSON, with a clear word on whatever is wrong."""

import json
import unicodedata
from collections.abc import Sequence
from typing import Any

from crosses.calc.errors import BadInput
from seedbank.calc import lottery
from seedbank.calc.allocation.documents import INPUTS_FORMAT
from seedbank.calc.allocation.model import Bar, Frozen, Inputs, Line, Member, Options

_MEANING = {
    str: "text",
    int: "a whole number",
    bool: "true or false",
    list: "a list",
    dict: "an object",
}
_MISSING = object()


class _Fields:
    """An object of the document, read field by field; what is left over at the end is refused."""

    def __init__(self, value: Any, where: str) -> None:
        if not isinstance(value, dict):
            raise BadInput(f"{where} must be an object.", field=where)
        self._left = dict(value)
        self.where = where

    def take(self, name: str, kind: type, default: Any = _MISSING) -> Any:
        """Return a field of the given kind; the default stands for a field that is not there."""
        value = self._left.pop(name, default)
        if value is _MISSING:
            raise BadInput(f"{self.where} has no {name}.", field=name)
        if value is default:
            return value
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            raise BadInput(f"{name} of {self.where} must be {_MEANING[kind]}.", field=name)
        return value

    def take_numbers(self, name: str, default: Any = _MISSING) -> Any:
        """Return a list of member or line numbers as a tuple; null only where None is the default."""
        if default is None and self._left.get(name) is None:
            return self._left.pop(name, None)
        values = self.take(name, list, default)
        if not all(isinstance(value, str) for value in values):
            raise BadInput(f"{name} of {self.where} must hold numbers written as text.", field=name)
        return tuple(values)

    def finish(self) -> None:
        """Refuse fields that nobody asked for, a slip of the pen among them."""
        if self._left:
            name = min(self._left)
            raise BadInput(f"{self.where} has a field {name} that is not known.", field=name)


def read_inputs(data: bytes) -> Inputs:
    """Read the inputs of a sharing-out.

    Parameters
    ----------
    data : bytes
        A JSON document in UTF-8, as the package describes.

    Raises
    ------
    BadInput
        If it is not such a document; the message names the member or line it is about.
    """
    try:
        text = unicodedata.normalize("NFC", data.decode("utf-8-sig"))
        document = json.loads(text, object_pairs_hook=_without_repeats, parse_constant=_no_constant)
    except (UnicodeDecodeError, json.JSONDecodeError) as fault:
        raise BadInput(f"This is not a JSON document in UTF-8: {fault}") from fault
    fields = _Fields(document, "the document")
    if fields.take("format", str) != INPUTS_FORMAT:
        raise BadInput(f"The format must be {INPUTS_FORMAT!r}.", field="format")
    event = fields.take("event", str)
    members = tuple(_member(value) for value in fields.take("members", list))
    order, draw_seed = _draw(fields.take("draw", dict), event, members)
    inputs = Inputs(
        event=event,
        policy=fields.take("policy", str),
        members=members,
        lines=tuple(_line(value) for value in fields.take("lines", list)),
        order=order,
        bars=tuple(_bar(value) for value in fields.take("barred", list, [])),
        frozen=tuple(_frozen(value) for value in fields.take("frozen", list, [])),
        plentiful=fields.take_numbers("plentiful", None),
        make_good=fields.take_numbers("make_good", ()),
        draw_seed=draw_seed,
        options=_options(fields.take("options", dict, {})),
    )
    fields.finish()
    return inputs


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise BadInput(f"The field {twice} stands twice in one object.", field=twice)
    return found


def _no_constant(name: str) -> None:
    raise BadInput(f"{name} is not a number that can be shared out.")


def _member(value: Any) -> Member:
    number = value.get("number", "?") if isinstance(value, dict) else "?"
    fields = _Fields(value, f"member {number}")
    member = Member(
        number=fields.take("number", str),
        tier=fields.take("tier", int),
        allowance=fields.take("allowance", int),
        main=fields.take_numbers("main"),
        reserve=fields.take_numbers("reserve", ()),
        household=fields.take("household", str, ""),
    )
    fields.finish()
    return member


def _line(value: Any) -> Line:
    number = value.get("number", "?") if isinstance(value, dict) else "?"
    fields = _Fields(value, f"line {number}")
    line = Line(
        number=fields.take("number", str),
        stock=fields.take("stock", int),
        copies=fields.take("copies", int, 1),
        withdrawn=fields.take("withdrawn", bool, default=False),
    )
    fields.finish()
    return line


def _bar(value: Any) -> Bar:
    fields = _Fields(value, "a barred pair")
    bar = Bar(fields.take("member", str), fields.take("line", str), fields.take("rule", str))
    fields.finish()
    return bar


def _frozen(value: Any) -> Frozen:
    fields = _Fields(value, "a frozen packet")
    counts = fields.take("counts", bool, default=True)
    packet = Frozen(fields.take("member", str), fields.take("line", str), counts)
    fields.finish()
    return packet


def _options(value: Any) -> Options:
    fields = _Fields(value, "options")
    strict = value.get("head_start") == "strict"
    options = Options(
        plentiful_free=fields.take("plentiful_free", bool, default=True),
        head_start="strict" if strict else fields.take("head_start", int, 0),
        one_per_household=fields.take("one_per_household", bool, default=False),
    )
    if strict:
        fields.take("head_start", str)
    fields.finish()
    return options


def _draw(value: Any, event: str, members: Sequence[Member]) -> tuple[tuple[str, ...], bytes]:
    """Return the order of the draw, and its seed if there is one."""
    fields = _Fields(value, "draw")
    order = fields.take_numbers("order", ())
    seed = _hexadecimal(fields.take("seed", str, ""), "seed")
    secret = _hexadecimal(fields.take("secret", str, ""), "secret")
    commitment = fields.take("commitment", str, "")
    public_value = fields.take("public_value", str, "")
    fields.finish()
    if secret:
        if commitment and commitment != lottery.commitment(secret):
            raise BadInput("The secret is not the one that was committed to.", field="secret")
        from_secret = lottery.seed(event, secret, public_value)
        if seed and seed != from_secret:
            raise BadInput("The seed does not follow from the secret.", field="seed")
        seed = from_secret
    if not seed:
        return order, b""
    drawn = lottery.order(seed, [member.number for member in members])
    if order and order != drawn:
        raise BadInput("The order given is not the one the seed draws.", field="order")
    return drawn, seed


def _hexadecimal(text: str, name: str) -> bytes:
    try:
        return bytes.fromhex(text)
    except ValueError as fault:
        raise BadInput(f"The {name} must be written in hexadecimal digits.", field=name) from fault
