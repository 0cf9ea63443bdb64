"""Chance that a flower takes when two given plants are crossed in a given direction.

Each plant adds to the chance in its role, and what is known of one is drawn towards what is usual
the less it was tried (ridge logistic regression). Incompatibility of one particular pair is not in
it: what this very pair did stands beside the chance. A help in choosing, not a measurement.
"""

import math
from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array, diags_array
from scipy.special import expit

from crosses.calc.errors import BadInput
from crosses.calc.grids import Floats
from crosses.calc.rates import Share, wilson

PlantId = Hashable
Term = tuple[str, Hashable]

# A class or month is told apart only with this many flowers of this many pairs on either side.
ENOUGH_FLOWERS = 20
ENOUGH_PAIRS = 3
# Temperatures closer together than this, in standard deviations, say nothing about warmth.
ENOUGH_SPREAD_CELSIUS = 3.0

# The usual chance is held so loosely that a few flowers outweigh it; all else by one logit.
LOOSE = 1 / 9
HELD = 1.0
LEAST_GAIN = 1e-12
# Of the residue, squared: a step is led home by the next one, and a variance's root is told in whole
# percent.
STEP_TOLERANCE = 1e-14
VARIANCE_TOLERANCE = 1e-7
# Pairs asked about at once: a column of numbers each, and a plant may have hundreds of partners.
PAIRS_AT_ONCE = 16
Z80 = 1.2815515655446004

CONSTANT: Term = ("usual", "")
SAME_FORM: Term = ("style form", "")
EQUAL_PLOIDY: Term = ("chromosome sets", "")
WARMTH: Term = ("warmth", "")


@dataclass(frozen=True, slots=True)
class Attempt:
    """Flowers of one pair, treated alike.

    Attributes
    ----------
    seed_parent, pollen_parent : plant numbers
    flowers, taken : int
        Flowers decided, and how many of them took.
    is_same_form : bool or None
        Pin with pin or thrum with thrum; None if either form is unknown.
    is_equal_ploidy : bool or None
    month : int or None
        Of pollination, 1 to 12.
    temperature_celsius : float or None
        Air at pollination.

    """

    seed_parent: PlantId
    pollen_parent: PlantId
    flowers: int
    taken: int
    is_same_form: bool | None = None
    is_equal_ploidy: bool | None = None
    month: int | None = None
    temperature_celsius: float | None = None


@dataclass(frozen=True, slots=True)
class PairFacts:
    """In what two plants are alike; None where it is not known of both.

    Attributes
    ----------
    is_same_form : bool or None
        Pin with pin or thrum with thrum.
    is_equal_ploidy : bool or None
    why_no_chance : str
        What makes a figure for this pair guesswork, in words; else empty.

    """

    is_same_form: bool | None = None
    is_equal_ploidy: bool | None = None
    why_no_chance: str = ""


@dataclass(frozen=True, slots=True)
class PairChance:
    """Chance that a flower of a pair takes; 0 to 1, to be shown without decimals.

    Attributes
    ----------
    chance, low, high : float
        With the ends of its 80 % interval.
    tried : Share
        What this very pair did in this direction.
    sentence : str

    """

    chance: float
    low: float
    high: float
    tried: Share
    sentence: str


@dataclass(frozen=True, eq=False)
class PairModel:
    """Attempts of a society, ready to be asked about any pair."""

    terms: dict[Term, int]
    weights: Floats
    curvature: csr_array
    mean_celsius: float
    counts: dict[tuple[PlantId, PlantId], tuple[int, int]]
    flowers: int

    def tried(self, seed_parent: PlantId, pollen_parent: PlantId) -> Share:
        """Give what the very pair did in this direction, with its interval."""
        return wilson(*self.counts.get((seed_parent, pollen_parent), (0, 0)))

    def chance(
        self,
        seed_parent: PlantId,
        pollen_parent: PlantId,
        *,
        is_same_form: bool | None = None,
        is_equal_ploidy: bool | None = None,
        month: int | None = None,
        temperature_celsius: float | None = None,
    ) -> PairChance:
        """Chance that a flower of this pair takes.

        A plant never tried in its role counts as a usual one, with the doubt that this brings. What
        is not known, or had too few flowers to tell, is left out.
        """
        asked = Attempt(
            seed_parent, pollen_parent, 0, 0,
            is_same_form, is_equal_ploidy, month, temperature_celsius,
        )  # fmt: skip
        return self.chances([asked])[0]

    def chances(self, asked: Sequence[Attempt]) -> list[PairChance]:
        """Chance of each of many pairs; of an attempt its flowers are not looked at."""
        found: list[PairChance] = []
        for begin in range(0, len(asked), PAIRS_AT_ONCE):
            some = asked[begin : begin + PAIRS_AT_ONCE]
            rows = [_values(each, self.mean_celsius) for each in some]
            columns = _design(rows, self.terms).T.toarray()
            logits = self.weights @ columns
            variances = np.einsum(
                "ij,ij->j", columns, _solved(self.curvature, columns, VARIANCE_TOLERANCE)
            )
            found += [
                self._told(*of_one) for of_one in zip(some, rows, logits, variances, strict=True)
            ]
        return found

    def _told(
        self, asked: Attempt, values: dict[Term, float], logit: float, variance: float
    ) -> PairChance:
        parents = [("seed", asked.seed_parent), ("pollen", asked.pollen_parent)]
        untried = sum(term not in self.terms for term in parents)
        reach = Z80 * math.sqrt(variance + untried / HELD)
        low, chance, high = (float(expit(logit + step)) for step in (-reach, 0.0, reach))
        tried = self.tried(asked.seed_parent, asked.pollen_parent)
        own = f"{tried.x} of {tried.n} flowers took" if tried.n else "never tried"
        known = {name for name, _ in values.keys() & self.terms.keys()}
        others = sorted(known - {"usual", "seed", "pollen"})
        learnt = _learnt_from([term in self.terms for term in parents])
        beside = f", and from {' and '.join(others)}," if others else ""
        return PairChance(
            chance, low, high, tried,
            f"About {100 * chance:.0f} % of flowers may take (80 % interval "
            f"{100 * low:.0f}-{100 * high:.0f} %), from "
            f"{learnt}{beside} over {self.flowers} flowers; this very "
            f"pair: {own}.",
        )  # fmt: skip


def _learnt_from(was_tried: Sequence[bool]) -> str:
    """Say on which parent's flowers a chance rests; of one never tried there is nothing to tell."""
    if all(was_tried):
        return "what each parent did in its role"
    if not any(was_tried):
        return "what is usual, as neither parent was tried in its role,"
    tried, untried = ("seed", "pollen") if was_tried[0] else ("pollen", "seed")
    return f"what the {tried} parent did in its role (the {untried} parent never tried in its own)"


def fit_pairs(attempts: Sequence[Attempt]) -> PairModel:
    """Learn from attempts how much each plant adds to the chance in its role.

    Form, ploidy, month and temperature are used only where both sides of the question have at
    least 20 flowers of 3 pairs, and temperatures that spread by 3 degrees.

    Raises
    ------
    BadInput
        If more flowers took than there were.

    Notes
    -----
    Logistic regression with normal priors of standard deviation 1 on the logit (3 for the usual
    chance), mode by Newton's method; intervals from the curvature at the mode. The curvature is
    kept as the few numbers that are not nought and never made a full table: of 26,000 parents that
    would be 5 GB. What is asked of its inverse is found by conjugate gradients.

    Examples
    --------
    >>> model = fit_pairs([Attempt("Smoke", "Lemon", 6, 5), Attempt("double", "Lemon", 9, 0)])
    >>> model.chance("Smoke", "Lemon").chance > model.chance("double", "Lemon").chance
    True

    """
    for each in attempts:
        if not 0 <= each.taken <= each.flowers:
            raise BadInput(
                f"{each.seed_parent} × {each.pollen_parent}: {each.taken} of {each.flowers} "
                "flowers cannot have taken.",
                field="taken",
            )
    celsius = [a.temperature_celsius for a in attempts if a.temperature_celsius is not None]
    mean_celsius = float(np.mean(celsius)) if celsius else 0.0
    rows = [_values(each, mean_celsius) for each in attempts]
    told = _told_apart(attempts)
    terms: dict[Term, int] = {CONSTANT: 0}
    for row in rows:
        for term in row:
            if term[0] in {"seed", "pollen"} or term in told:
                terms.setdefault(term, len(terms))
    design = _design(rows, terms)
    flowers = np.array([each.flowers for each in attempts], float)
    taken = np.array([each.taken for each in attempts], float)
    held = np.full(len(terms), HELD)
    held[0] = LOOSE
    weights, curvature = _mode(design, flowers, taken, held)
    counts: dict[tuple[PlantId, PlantId], tuple[int, int]] = defaultdict(lambda: (0, 0))
    for each in attempts:
        pair = (each.seed_parent, each.pollen_parent)
        took, of = counts[pair]
        counts[pair] = (took + each.taken, of + each.flowers)
    return PairModel(terms, weights, curvature, mean_celsius, dict(counts), int(flowers.sum()))


def _values(attempt: Attempt, mean_celsius: float) -> dict[Term, float]:
    """Tell what an attempt says of each term; yes and no are halves, unknown stands between."""
    values: dict[Term, float] = {
        CONSTANT: 1.0,
        ("seed", attempt.seed_parent): 1.0,
        ("pollen", attempt.pollen_parent): 1.0,
    }
    if attempt.is_same_form is not None:
        values[SAME_FORM] = 0.5 if attempt.is_same_form else -0.5
    if attempt.is_equal_ploidy is not None:
        values[EQUAL_PLOIDY] = 0.5 if attempt.is_equal_ploidy else -0.5
    if attempt.month is not None:
        values["month", attempt.month] = 1.0
    if attempt.temperature_celsius is not None:
        values[WARMTH] = (attempt.temperature_celsius - mean_celsius) / 10
    return values


def _told_apart(attempts: Sequence[Attempt]) -> set[Term]:
    """Terms beside the parents for which there are enough flowers."""
    told: set[Term] = set()
    for term, sides in (
        (SAME_FORM, [[a for a in attempts if a.is_same_form is side] for side in (True, False)]),
        (
            EQUAL_PLOIDY,
            [[a for a in attempts if a.is_equal_ploidy is side] for side in (True, False)],
        ),
    ):
        if all(_are_enough(side) for side in sides):
            told.add(term)
    by_month = defaultdict(list)
    for each in attempts:
        by_month[each.month].append(each)
    months = {month for month, those in by_month.items() if month and _are_enough(those)}
    if len(months) > 1:
        told |= {("month", month) for month in months}
    measured = [a for a in attempts if a.temperature_celsius is not None and a.flowers]
    celsius = [a.temperature_celsius for a in measured if a.temperature_celsius is not None]
    if _are_enough(measured) and float(np.std(celsius)) >= ENOUGH_SPREAD_CELSIUS:
        told.add(WARMTH)
    return told


def _are_enough(attempts: Sequence[Attempt]) -> bool:
    pairs = {(each.seed_parent, each.pollen_parent) for each in attempts if each.flowers}
    return len(pairs) >= ENOUGH_PAIRS and sum(a.flowers for a in attempts) >= ENOUGH_FLOWERS


def _design(rows: Sequence[dict[Term, float]], terms: dict[Term, int]) -> csr_array:
    entries = [
        (number, terms[term], value)
        for number, row in enumerate(rows)
        for term, value in row.items()
        if term in terms
    ]
    at_row, at_column, value = zip(*entries, strict=True) if entries else ((), (), ())
    return csr_array(
        (np.array(value, float), (np.array(at_row, int), np.array(at_column, int))),
        shape=(len(rows), len(terms)),
    )


def _mode(
    design: csr_array, flowers: Floats, taken: Floats, held: Floats
) -> tuple[Floats, csr_array]:
    """Most likely weights, and the curvature there, whose inverse is their covariance."""

    def objective(weights: Floats) -> float:
        logit = design @ weights
        fit = taken @ logit - flowers @ np.logaddexp(0, logit)
        return float(fit - held @ weights**2 / 2)

    weights = np.zeros(len(held))
    gain, least = math.inf, LEAST_GAIN * max(1.0, float(flowers.sum()))
    while gain > least:
        share = expit(design @ weights)
        slope = design.T @ (taken - flowers * share) - held * weights
        curvature = _curvature(design, flowers, share, held)
        # Each plant meets few others: going step by step is far less work than a full table.
        step = _solved(curvature, slope[:, None], STEP_TOLERANCE)[:, 0]
        # There is one summit, but a full step may go past it and down.
        while (gain := objective(weights + step) - objective(weights)) < 0:
            step /= 2
        weights = weights + step
    return weights, curvature


def _curvature(design: csr_array, flowers: Floats, share: Floats, held: Floats) -> csr_array:
    spread = diags_array(flowers * share * (1 - share))
    return csr_array(design.T @ spread @ design + diags_array(held))


def _solved(curvature: csr_array, columns: Floats, tolerance: float) -> Floats:
    """Solve for several right-hand sides at once, by conjugate gradients held by the diagonal.

    Hestenes, Stiefel (1952), Journal of Research of the National Bureau of Standards 49, 409-436,
    each column with its own steps; a column that is solved stands still.
    """
    scale = 1 / curvature.diagonal()[:, None]
    found = np.zeros_like(columns)
    rest = columns.copy()
    held = scale * rest
    way = held.copy()
    left = np.einsum("ij,ij->j", rest, held)
    enough = tolerance * left
    # In exact steps as many as there are unknowns are enough; far fewer are ever needed.
    for _ in range(len(columns)):
        open_ones = left > enough
        if not open_ones.any():
            break
        ahead = curvature @ way
        bend = np.einsum("ij,ij->j", way, ahead)
        step = np.divide(left, bend, out=np.zeros_like(left), where=open_ones)
        found += step * way
        rest -= step * ahead
        held = scale * rest
        before, left = left, np.einsum("ij,ij->j", rest, held)
        turn = np.divide(left, before, out=np.zeros_like(left), where=open_ones)
        way = held + turn * way
    return found
