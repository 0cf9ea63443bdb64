"""Who descends from whom, as far as the reader may see both the plant and its cross."""

from collections.abc import Sequence
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework.exceptions import ParseError
from rest_framework.request import Request
from rest_framework.response import Response

from crosses.access import crosses_visible_to
from crosses.models import Cross
from crosses.queries.written import cross_formula
from seedbank.api.brapi.envelope import (
    NOT_KEPT,
    PAGING,
    BrapiView,
    single,
    without_unknown,
)
from seedbank.api.brapi.germplasm import PLANT_FILTERS, address_of, plants_for
from seedbank.members.models import Member
from seedbank.transfer.descent import Link, Tree, seen_tree


class PedigreeList(BrapiView):
    parameters = (
        NOT_KEPT
        | PAGING
        | PLANT_FILTERS.keys()
        | {
            "includeFullTree",
            "includeParents",
            "includeProgeny",
            "includeSiblings",
            "pedigreeDepth",
            "progenyDepth",
        }
    )

    def get(self, request: Request) -> Response:
        up, down = self._depth("pedigreeDepth"), self._depth("progenyDepth")
        if self.yes_no("includeFullTree", default=False):
            up = down = None
        relatives = [
            name
            for name in ("parents", "siblings", "progeny")
            if self.yes_no(f"include{name.capitalize()}", default=True)
        ]
        plants = self.narrowed(plants_for(self.reader), PLANT_FILTERS)
        tree, names = seen_tree(self.reader)
        numbers = sorted(tree.around(plants.values_list("number", flat=True), up=up, down=down))

        def told(page: Sequence[str]) -> list[dict[str, Any]]:
            return _nodes(self.reader, page, tree, names, relatives)

        return self.listed(numbers, told)

    def _depth(self, name: str) -> int | None:
        return self.whole_number(name, default=1)


class GermplasmPedigree(BrapiView):
    """The parents of one plant; deprecated in 2.1, and asked for all the same."""

    parameters = frozenset({"includeSiblings", "notation"})

    def get(self, request: Request, germplasmDbId: str) -> Response:  # noqa: N803  the standard's
        if request.query_params.get("notation", "purdy").casefold() != "purdy":
            raise ParseError("notation: only purdy is written, seed parent first.")
        plant = get_object_or_404(plants_for(self.reader), number=germplasmDbId)
        tree, names = seen_tree(self.reader)
        relatives = ["parents"]
        if self.yes_no("includeSiblings", default=False):
            relatives.append("siblings")
        (node,) = _nodes(self.reader, [plant.number], tree, names, relatives)
        if "pedigreeString" in node:
            node["pedigree"] = node.pop("pedigreeString")
        for only_of_nodes in ("defaultDisplayName", "germplasmPUI"):
            del node[only_of_nodes]
        return single(node)


class GermplasmProgeny(BrapiView):
    """What was raised or divided from one plant; deprecated in 2.1, and asked for all the same."""

    def get(self, request: Request, germplasmDbId: str) -> Response:  # noqa: N803  the standard's
        plant = get_object_or_404(plants_for(self.reader), number=germplasmDbId)
        tree, names = seen_tree(self.reader)
        return single(
            {
                "germplasmDbId": plant.number,
                "germplasmName": plant.name_text,
                "progeny": [_linked(link, names) for link in tree.progeny.get(plant.number, ())],
            }
        )


def _linked(link: Link, names: dict[str, str]) -> dict[str, str]:
    return {
        "germplasmDbId": link.plant,
        "germplasmName": names[link.plant],
        "parentType": link.parent_type,
    }


def _nodes(
    reader: Member,
    numbers: Sequence[str],
    tree: Tree,
    names: dict[str, str],
    relatives: Sequence[str],
) -> list[dict[str, Any]]:
    plants = plants_for(reader).filter(number__in=numbers, raised_from__isnull=False)
    crosses = crosses_visible_to(reader).filter(seedlings__in=plants).distinct()
    crosses = crosses.select_related("seed_parent", "pollen_parent")
    known = {cross.pk: cross for cross in crosses.prefetch_related("pollen_shares__plant")}
    raised = {
        number: known[cross]
        for number, cross in plants.values_list("number", "raised_from_id")
        if cross in known
    }
    return [_node(number, raised.get(number), tree, names, relatives) for number in numbers]


def _node(
    number: str,
    cross: Cross | None,
    tree: Tree,
    names: dict[str, str],
    relatives: Sequence[str],
) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "germplasmDbId": number,
        "germplasmName": names[number],
        "defaultDisplayName": names[number],
        "germplasmPUI": address_of(number),
    }
    if cross is not None:
        facts |= {
            "crossingProjectDbId": str(cross.season),
            "crossingYear": cross.season,
            "familyCode": cross.number,
            "pedigreeString": cross_formula(cross),
        }
    told = without_unknown(facts)
    # A list that was asked for is told also where it is empty: there are none that may be seen.
    if "parents" in relatives:
        told["parents"] = [_linked(link, names) for link in tree.parents.get(number, ())]
    if "siblings" in relatives:
        told["siblings"] = [
            {"germplasmDbId": each, "germplasmName": names[each]} for each in tree.siblings(number)
        ]
    if "progeny" in relatives:
        told["progeny"] = [_linked(link, names) for link in tree.progeny.get(number, ())]
    return told
