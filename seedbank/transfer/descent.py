"""The descent of the society's plants as one reader may see it, to be walked up and down."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from crosses.access import crosses_visible_to, plants_visible_to
from crosses.models import Cross, PollenShare
from seedbank.members.models import Member

SEED_PARENT, POLLEN_PARENT, OWN_POLLEN = "FEMALE", "MALE", "SELF"
ONE_OF_A_MIXTURE, DIVIDED_FROM = "POPULATION", "CLONAL"


@dataclass(frozen=True, slots=True)
class Link:
    """A relative, and what the parent of the two is to the child: FEMALE, MALE, SELF ..."""

    plant: str
    parent_type: str


@dataclass(frozen=True)
class Tree:
    """Who descends from whom: the parents by child, and the children by parent."""

    parents: Mapping[str, Sequence[Link]]
    progeny: Mapping[str, Sequence[Link]] = field(init=False)

    def __post_init__(self) -> None:
        progeny: dict[str, list[Link]] = defaultdict(list)
        for child, links in self.parents.items():
            for link in links:
                progeny[link.plant].append(Link(child, link.parent_type))
        object.__setattr__(self, "progeny", dict(progeny))

    def siblings(self, plant: str) -> list[str]:
        """Return the plants that share at least one parent with this one."""
        found = {
            child.plant
            for parent in self.parents.get(plant, ())
            for child in self.progeny.get(parent.plant, ())
        }
        return sorted(found - {plant})

    def around(self, plants: Iterable[str], *, up: int | None, down: int | None) -> set[str]:
        """Return plants with `up` generations above them and `down` below; None is all of them.

        Only lines of descent are walked: the brother of a parent is not among them.
        """
        return _walk(plants, self.parents, up) | _walk(plants, self.progeny, down)


def _walk(
    plants: Iterable[str], links: Mapping[str, Sequence[Link]], generations: int | None
) -> set[str]:
    found = set(plants)
    edge = set(found)
    steps = 0
    while edge and (generations is None or steps < generations):
        edge = {link.plant for plant in edge for link in links.get(plant, ())} - found
        found |= edge
        steps += 1
    return found


def seen_tree(reader: Member) -> tuple[Tree, dict[str, str]]:
    """Return the pedigree a reader may see, and the plants' names; three queries."""
    plants = plants_visible_to(reader).filter(withdrawn_at=None)
    rows = plants.values_list("pk", "number", "name_text", "raised_from_id", "propagated_from_id")
    known = list(rows)
    numbers = {key: number for key, number, *_rest in known}
    raising = crosses_visible_to(reader).filter(seedlings__isnull=False).distinct()
    crosses = {cross.pk: cross for cross in raising}
    mixtures: dict[int, list[int]] = defaultdict(list)
    shares = PollenShare.objects.filter(cross__seedlings__isnull=False).distinct().order_by("pk")
    for cross, plant in shares.values_list("cross_id", "plant_id"):
        mixtures[cross].append(plant)
    parents: dict[str, list[Link]] = {}
    for _key, number, _name, cross, source in known:
        links = [(source, DIVIDED_FROM)] if source else []
        if cross in crosses:
            links += _parents_of_cross(crosses[cross], mixtures[cross])
        parents[number] = [Link(numbers[key], kind) for key, kind in links if key in numbers]
    return Tree(parents), {number: name for _key, number, name, *_rest in known}


def _parents_of_cross(cross: Cross, mixture: Sequence[int]) -> list[tuple[int, str]]:
    if cross.pollen == Cross.Pollen.SELF:
        return [(cross.seed_parent_id, OWN_POLLEN)]
    found = [(cross.seed_parent_id, SEED_PARENT)]
    if cross.pollen_parent_id is not None:
        found.append((cross.pollen_parent_id, POLLEN_PARENT))
    return found + [(plant, ONE_OF_A_MIXTURE) for plant in mixture]
