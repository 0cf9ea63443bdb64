"""What to think of before two plants are crossed: warned with what to expect, never blocked."""

from dataclasses import dataclass

from crosses.calc.rates import sentence, wilson
from crosses.models import Plant, Taxon
from crosses.queries.forecast import genus_of

# Capsules of flowers, Primula vulgaris, one season by hand: Darwin, The different forms of flowers
# on plants of the same species (1877), table of long- and short-styled plants.
_OTHER_FORM = wilson(18, 20)
_OWN_FORM = wilson(21, 39)
_SOURCE_1877 = "Primula vulgaris, hand-pollinated, Darwin 1877"


@dataclass(frozen=True)
class PairCaution:
    """A sentence about a pair, and where it comes from."""

    words: str
    source: str


def cautions_of_pair(seed_parent: Plant, pollen_parent: Plant | None) -> list[PairCaution]:
    if pollen_parent is None or pollen_parent == seed_parent:
        return []
    cautions = []
    # By what is written of the plants themselves: a list of partners must not ask for each.
    genera = {genus_of(plant, generations=0) for plant in (seed_parent, pollen_parent)} - {""}
    if len(genera) > 1:
        cautions.append(
            PairCaution(
                f"Of two genera, {' and '.join(sorted(genera))}: such crosses seldom take.",
                "common practice, no source",
            )
        )
    form = seed_parent.style_form
    if form in {"pin", "thrum"} and form == pollen_parent.style_form:
        cautions.append(
            PairCaution(
                f"Both are {form}: expect fewer capsules and less seed. Flowers that set with their"
                f" own form {sentence(_OWN_FORM)}, with the other form {sentence(_OTHER_FORM)}.",
                _SOURCE_1877,
            )
        )
    if source_of(seed_parent) == source_of(pollen_parent):
        cautions.append(
            PairCaution(
                "These two are divisions of one plant: the cross is a selfing by descent.",
                "the plants' own records",
            )
        )
    sets = {chromosome_sets(seed_parent), chromosome_sets(pollen_parent)} - {None}
    if len(sets) > 1:
        low, high = sorted(filter(None, sets))
        cautions.append(
            PairCaution(
                f"{low} chromosome sets by {high}: such crosses rarely set good seed.",
                "common practice, no source",
            )
        )
    return cautions


def why_no_chance(seed_parent: Plant, pollen_parent: Plant) -> str:
    """Say why no chance can be told of a pair, however much is known of each; empty if it can."""
    genera = {genus_of(seed_parent), genus_of(pollen_parent)}
    if "" in genera:
        return "No chance is told: the genus of one of the two is not known."
    if len(genera) > 1:
        return "No chance is told: the two are of two genera, and crosses within one teach nothing here."
    sets = {chromosome_sets(seed_parent), chromosome_sets(pollen_parent)} - {None}
    if len(sets) > 1:
        return "No chance is told: the two differ in their sets of chromosomes."
    return ""


def source_of(plant: Plant) -> Plant:
    """Return the plant at the head of a line of divisions: the same genotype."""
    walked = {plant.pk}
    while plant.propagated_from is not None and plant.propagated_from.pk not in walked:
        plant = plant.propagated_from
        walked.add(plant.pk)
    return plant


def chromosome_sets(plant: Plant) -> int | None:
    """Return a plant's own number of chromosome sets, or else that of its taxon."""
    return plant.ploidy or (plant.taxon.ploidy if plant.taxon else None)


def hazard_of(plant: Plant) -> str:
    """Return what can hurt who handles a plant or its seed: its taxon's note, or its genus's."""
    if plant.taxon is not None and plant.taxon.hazard_note:
        return plant.taxon.hazard_note
    of_genus = Taxon.objects.filter(genus=genus_of(plant), species="").exclude(hazard_note="")
    return of_genus.values_list("hazard_note", flat=True).first() or ""
