"""What pages and upper apps read: the formula of a cross and its parents stand at the door."""

from crosses.queries.written import Parents, cross_formula, parents_of

__all__ = ["Parents", "cross_formula", "parents_of"]
