"""Whom to cross a plant with: what may take, what is not too close, and what is still missing."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from crosses.calc.fertility.pairs import Attempt, PairChance, PairFacts, PairModel, PlantId
from crosses.calc.fertility.roles import none_took
from crosses.calc.rates import Share, too_few

# Half-sisters give seedlings of one eighth (Falconer and Mackay, chapter 5).
CLOSE = 0.125


@dataclass(frozen=True, slots=True)
class Partner:
    """A possible partner with the grounds for its place.

    Attributes
    ----------
    plant : plant number
    chance : PairChance or None
        That a flower takes; None where a figure would be guesswork, as the reasons then say.
    tried : Share
        What this very pair did in this direction.
    offspring_inbreeding : float
        What the seedlings would have by the known pedigree: the kinship of the two.
    is_never_made : bool
        Neither direction of the pair was ever tried.
    merit : float
        Lower end of the chance's interval, times the share of genes in the seedlings that are not
        copies of one ancestral gene; what the order follows.
    reasons : tuple of str

    """

    plant: PlantId
    chance: PairChance | None
    tried: Share
    offspring_inbreeding: float
    is_never_made: bool
    merit: float
    reasons: tuple[str, ...]


def rank_partners(
    plant: PlantId,
    candidates: Collection[PlantId],
    model: PairModel,
    kinship: Mapping[PlantId, float],
    *,
    as_seed_parent: bool,
    facts: Mapping[PlantId, PairFacts] | None = None,
) -> tuple[Partner, ...]:
    """Order candidates for a plant, best first, each with its reasons.

    Parameters
    ----------
    plant : plant number
        The one that waits for a partner.
    candidates : collection of plant numbers
        The plant itself may be among them: a selfing.
    model : PairModel
        From the society's attempts.
    kinship : mapping from a candidate to its kinship with the plant
        Missing candidates count as unrelated as far as is known.
    as_seed_parent : bool
        Whether the plant is to bear the seed.
    facts : mapping from a candidate to what it has in common with the plant, if known

    Notes
    -----
    First the pairs that were tried in this direction, then those that were not; within each by
    merit, and last those of which no chance is told. The lower end of the interval is what is
    ranked by, so that a pair that proved itself stands above one of which little is
    known. Of equal merit, first a pair that was never made, then by number.

    """
    known = facts or {}
    pairs = [(plant, one) if as_seed_parent else (one, plant) for one in candidates]
    alike = [known.get(one, PairFacts()) for one in candidates]
    asked = [
        Attempt(*pair, 0, 0, of_both.is_same_form, of_both.is_equal_ploidy)
        for pair, of_both in zip(pairs, alike, strict=True)
    ]
    found = []
    for candidate, (seed, pollen), of_both, learnt in zip(
        candidates, pairs, alike, model.chances(asked), strict=True
    ):
        tried = learnt.tried
        chance = None if of_both.why_no_chance else learnt
        other_way = model.tried(pollen, seed)
        inbreeding = kinship.get(candidate, 0.0)
        reasons = [of_both.why_no_chance or learnt.sentence, _of_relation(inbreeding)]
        if other_way.n and seed != pollen:
            reasons.append(f"The other way round: {other_way.x} of {other_way.n} flowers took.")
        if tried.x == 0 and not too_few(tried.n):
            reasons.append(none_took(tried.n))
        is_never_made = tried.n == other_way.n == 0
        if is_never_made:
            reasons.append("Never made in either direction.")
        found.append(
            Partner(
                plant=candidate,
                chance=chance,
                tried=tried,
                offspring_inbreeding=inbreeding,
                is_never_made=is_never_made,
                merit=chance.low * (1 - inbreeding) if chance else 0.0,
                reasons=tuple(reasons),
            )
        )
    return tuple(sorted(found, key=_place))


def _place(partner: Partner) -> tuple[object, ...]:
    return (
        partner.tried.n == 0,
        partner.chance is None,
        -partner.merit,
        not partner.is_never_made,
        str(partner.plant),
    )


def _of_relation(inbreeding: float) -> str:
    if inbreeding == 0:
        return "No known relation."
    close = ", as from half-sisters or closer" if inbreeding >= CLOSE else ""
    return f"Related: seedlings would have an inbreeding of {inbreeding:.3f}{close}."
