"""How readily plants set seed: alone in a role, in a pair, and whom to try next."""

from crosses.calc.fertility.pairs import Attempt, PairChance, PairFacts, PairModel, fit_pairs
from crosses.calc.fertility.partners import Partner, rank_partners
from crosses.calc.fertility.roles import (
    ParentRate,
    RoleRates,
    SeedsPerCapsule,
    none_took,
    role_rates,
    seeds_per_capsule,
)

__all__ = [
    "Attempt",
    "PairChance",
    "PairFacts",
    "PairModel",
    "ParentRate",
    "Partner",
    "RoleRates",
    "SeedsPerCapsule",
    "fit_pairs",
    "none_took",
    "rank_partners",
    "role_rates",
    "seeds_per_capsule",
]
