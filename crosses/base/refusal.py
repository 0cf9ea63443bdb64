"""The one way a rule says no."""

from collections.abc import Sequence


class Refused(Exception):  # noqa: N818  a rule that says no is an answer, not an error of ours
    """An act that the rules do not allow.

    `code` is for programs, `message` is for the person who asked, `field` names the input it
    belongs to (empty: the whole form). `choices` are what could have been meant: what to send
    instead, and the words for it.
    """

    def __init__(
        self,
        code: str,
        message: str,
        *,
        field: str = "",
        choices: Sequence[tuple[str, str]] = (),
    ) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.field = field
        self.choices = tuple(choices)
