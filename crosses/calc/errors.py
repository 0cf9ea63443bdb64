"""The one way a reckoning refuses what it was given."""


class BadInput(ValueError):  # noqa: N818  what was typed is no error of ours
    """Input that cannot be reckoned with.

    Parameters
    ----------
    message : str
        A sentence for the person who typed the value, in the words of the trade.
    field : str
        Name of the parameter or column the message belongs to; empty if it concerns the whole.
    """

    def __init__(self, message: str, *, field: str = "") -> None:
        """Keep the sentence and the field it belongs to."""
        super().__init__(message)
        self.message = message
        self.field = field
