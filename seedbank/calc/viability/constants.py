"""Constants of the seed viability equation, each from the paper named beside it.

A row stands for the seed its paper worked on and for nothing else: a relative's constants are never
lent to a taxon without its own. Rows marked weak were found at one storage temperature and borrow
the two temperature terms from other species, so they say little about cooler storage.

Left out on purpose: sets that are visibly wrong in print (Tagetes patula with CH 0.2769, Saccharum
with CH 5.168, every set with a negative moisture term).
"""

from dataclasses import dataclass

UNIVERSAL_CH = 0.0329
UNIVERSAL_CQ = 0.000478


@dataclass(frozen=True)
class StorageConstants:
    """The four constants of one taxon, as one paper gives them.

    Parameters
    ----------
    taxon : str
        Genus and species, as the paper names the seed.
    ke, cw, ch, cq : float
        KE, CW, CH and CQ of Ellis and Roberts (1980), for days, percent moisture of fresh weight
        and degrees Celsius.
    paper : str
        Who published them.
    is_weak : bool
        One storage temperature only; CH and CQ are the universal values.

    """

    taxon: str
    ke: float
    cw: float
    ch: float
    cq: float
    paper: str
    is_weak: bool = False


def _one_temperature(taxon: str, ke: float, cw: float, paper: str) -> StorageConstants:
    return StorageConstants(taxon, ke, cw, UNIVERSAL_CH, UNIVERSAL_CQ, paper, is_weak=True)


PUBLISHED: tuple[StorageConstants, ...] = (
    StorageConstants("Hordeum vulgare", 9.144, 5.342, 0.0329, 0.000478, "Dickie et al. 1990"),
    StorageConstants("Allium cepa", 6.975, 3.470, 0.0400, 0.000428, "Ellis & Roberts 1981"),
    _one_temperature("Allium cepa", 9.083, 5.810, "Ellis et al. 1990"),
    StorageConstants("Lactuca sativa", 7.938, 5.250, 0.0329, 0.000478, "Ellis et al. 1989"),
    StorageConstants(
        "Glycine max", 7.525, 4.086, 0.0329, 0.000478, "Ellis et al. 1982; Dickie et al. 1990"
    ),
    StorageConstants("Glycine max", 7.292, 3.996, 0.0295, 0.000491, "Ellis 1988"),
    StorageConstants("Oryza sativa", 8.242, 4.345, 0.0307, 0.000501, "Ellis & Hong 2007"),
    StorageConstants("Triticum aestivum", 9.043, 5.183, 0.0351, 0.000475, "Ellis & Hong 2007"),
    StorageConstants("Zea mays", 10.562, 6.366, 0.0332, 0.000577, "Ellis & Hong 2007"),
    StorageConstants(
        "Cicer arietinum", 8.901, 4.847, 0.0329, 0.000478, "Ellis et al. 1982; Dickie et al. 1990"
    ),
    StorageConstants(
        "Vigna unguiculata", 9.401, 5.118, 0.0329, 0.000478, "Ellis et al. 1982; Dickie et al. 1990"
    ),
    _one_temperature("Pisum sativum", 9.858, 5.390, "Ellis et al. 1989"),
    StorageConstants("Beta vulgaris", 9.373, 5.152, 0.0372, 0.000467, "Ellis & Hong 2007"),
    StorageConstants("Arabidopsis thaliana", 8.350, 5.150, 0.0563, 0.0000839, "Hay et al. 2003"),
    _one_temperature("Capsicum annuum", 7.767, 4.670, "Demir et al. 2009"),
    StorageConstants("Delphinium ambiguum", 7.670, 3.120, 0.0400, 0.000400, "Hong et al. 1996"),
    _one_temperature("Delphinium elatum", 7.777, 4.623, "Kwong et al. 2001, normal seedlings"),
    _one_temperature("Digitalis purpurea", 7.490, 5.610, "Hong et al. 1996"),
    StorageConstants("Gypsophila elegans", 9.600, 5.360, 0.0400, 0.000400, "Hong et al. 1996"),
    StorageConstants("Lupinus polyphyllus", 6.217, 2.761, 0.0400, 0.000400, "Dickie & Bowyer 1985"),
    StorageConstants("Papaver nudicaule", 6.838, 4.101, 0.0270, 0.000313, "Belletti et al. 1991"),
    StorageConstants("Ranunculus sceleratus", 6.980, 5.010, 0.0329, 0.000428, "Hong et al. 1996"),
    _one_temperature("Salvia splendens", 9.883, 6.678, "Kwong et al. 2001, normal seedlings"),
    _one_temperature("Celosia argentea", 4.957, 1.188, "Daniel et al. 2012"),
    StorageConstants("Ulmus carpinifolia", 5.830, 3.035, 0.0329, 0.000478, "Tompsett 1986"),
)


def published_constants(taxon: str) -> tuple[StorageConstants, ...]:
    """Every published set for this taxon, several temperatures before one; empty if none is known.

    Parameters
    ----------
    taxon : str
        Genus and species. Capital letters and extra spaces do not matter; anything more or less
        than the two words does, for a variety or a hybrid is not its species.

    Examples
    --------
    >>> [constants.paper for constants in published_constants("Allium cepa")]
    ['Ellis & Roberts 1981', 'Ellis et al. 1990']
    >>> published_constants("Primula vulgaris")
    ()

    """
    wanted = " ".join(taxon.split()).casefold()
    found = [constants for constants in PUBLISHED if constants.taxon.casefold() == wanted]
    return tuple(sorted(found, key=lambda constants: constants.is_weak))
