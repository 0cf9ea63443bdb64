"""What germination counts tell: shares, times, curves, comparisons, and how much to sow.

Everything starts from :func:`read_counts`, which refuses counts that cannot be true. A seed not
yet up is waiting, not failed; a number without value is None, not 0; and every number that is an
estimate comes with its interval or with the count behind it.
"""

from seedbank.calc.germination.compare import (
    Comparison,
    Difference,
    LogRank,
    beta_binomial_test,
    compare_treatments,
    difference_of_shares,
    fisher_exact,
    log_rank,
)
from seedbank.calc.germination.counts import Counts, merge_looks, read_counts
from seedbank.calc.germination.course import (
    Interval,
    PooledSteps,
    PotStep,
    Steps,
    intervals,
    pot_steps,
    steps,
    turnbull,
)
from seedbank.calc.germination.curve import Curve, Estimate, fit_curve, share_come
from seedbank.calc.germination.expectation import Expectation, expect_next_sowing
from seedbank.calc.germination.indices import GerminationIndices, describe
from seedbank.calc.germination.lots import LotsApart, compare_lots
from seedbank.calc.germination.many import ManyIndices, describe_many
from seedbank.calc.germination.pool import Pooled, pool_sowings, pooled_share
from seedbank.calc.germination.pooledcourse import CourseStep, PooledCourse, pooled_course
from seedbank.calc.germination.ranks import (
    Permuted,
    RankTest,
    generalised_wilcoxon,
    permutation_test,
    permute_pots,
    rank_test,
)
from seedbank.calc.germination.reaching import TimeToShare, time_to_share
from seedbank.calc.germination.replicates import (
    Heterogeneity,
    ReplicateCheck,
    check_replicates,
    check_two_tests,
    heterogeneity,
)
from seedbank.calc.germination.sowingplan import SeedsToSow, seeds_to_sow
from seedbank.calc.germination.tolerance import maximum_difference, maximum_range

__all__ = [
    "Comparison",
    "Counts",
    "CourseStep",
    "Curve",
    "Difference",
    "Estimate",
    "Expectation",
    "GerminationIndices",
    "Heterogeneity",
    "Interval",
    "LogRank",
    "LotsApart",
    "ManyIndices",
    "Permuted",
    "Pooled",
    "PooledCourse",
    "PooledSteps",
    "PotStep",
    "RankTest",
    "ReplicateCheck",
    "SeedsToSow",
    "Steps",
    "TimeToShare",
    "beta_binomial_test",
    "check_replicates",
    "check_two_tests",
    "compare_lots",
    "compare_treatments",
    "describe",
    "describe_many",
    "difference_of_shares",
    "expect_next_sowing",
    "fisher_exact",
    "fit_curve",
    "generalised_wilcoxon",
    "heterogeneity",
    "intervals",
    "log_rank",
    "maximum_difference",
    "maximum_range",
    "merge_looks",
    "permutation_test",
    "permute_pots",
    "pool_sowings",
    "pooled_course",
    "pooled_share",
    "pot_steps",
    "rank_test",
    "read_counts",
    "seeds_to_sow",
    "share_come",
    "steps",
    "time_to_share",
    "turnbull",
]
