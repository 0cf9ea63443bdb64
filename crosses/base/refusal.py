"""The one way a rule says no."""


class Refused(Exception):  # noqa: N818  a rule that says no is an answer, not an error of ours
    """An act that the rules do not allow.

    `code` is for programs, `message` is for the person who asked, `field` names the input it
    belongs to (empty: the whole form).
    """

    def __init__(self, code: str, message: str, *, field: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.field = field
