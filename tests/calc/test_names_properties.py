import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from crosses.calc.errors import BadInput
from crosses.calc.names import (
    AsTyped,
    Epithet,
    Formula,
    Mixture,
    Name,
    Unnamed,
    check_cultivar_epithet,
    formula,
    read_name,
    read_or_plain,
    sort_key,
    write_name,
)

EPITHETS = st.sampled_from(["veris", "elatior", "novae-angliae", "sieboldii", "xanthina"])
GENERA = st.sampled_from(["Primula", "Polypodium", "Mentha", "Xanthosoma", "Apple"])
CULTIVARS = st.builds(Epithet, st.just("cultivar"), st.sampled_from(["Ruby", "Chater's", "Max x"]))
GROUPS = st.builds(
    Epithet, st.sampled_from(["group", "grex"]), st.sampled_from(["Sorel", "Cloth of Gold"])
)
NUMBERS = st.builds(Epithet, st.just("seedling"), st.sampled_from(["N-17", "2027/14"]))


@st.composite
def names(draw):
    species = draw(st.just("") | EPITHETS)
    epithets = [draw(part) for part in (GROUPS, CULTIVARS, NUMBERS) if draw(st.booleans())]
    below = draw(
        st.sampled_from([(), (("subsp.", "alba"),), (("nothovar.", "alba"), ("f.", "nana"))])
    )
    return Name(
        genus=draw(GENERA),
        genus_sign=draw(st.sampled_from(["", "", "×", "+"])),
        qualifier=draw(st.sampled_from(["", "aff.", "cf."])) if species else "",
        species=species,
        is_nothospecies=draw(st.booleans()) if species else False,
        placeholder=draw(st.sampled_from(["", "sp.", "hybrid"])) if not species else "",
        below=below if species else (),
        is_seedling_of=draw(st.booleans()) if species or epithets else False,
        epithets=tuple(epithets),
    )


def crosses(parents):
    mixtures = st.lists(parents, min_size=2, max_size=3).map(tuple).map(Mixture)
    seeds = parents | st.just(Unnamed("unknown"))
    pollen = (
        parents
        | mixtures
        | st.builds(Unnamed, st.sampled_from(["self", "open", "unknown", "none"]))
    )
    return st.builds(formula, seeds, pollen)


TREES = st.recursive(names(), crosses, max_leaves=6)

SCRAPS = st.sampled_from(
    ["Primula", "veris", "elatior", "P.", "x", "×", "*", "'Ruby'", '"Ruby"', "'", "(", ")", "+", "=", "♀", "(m)",
     "cv.", "ex", "aff.", "sp.", "subsp.", "seedling", "N-17", "Group", "grex", "Sorel", "of", "self", "OP", "?",
     "open", "pollinated", "no", "pollen", "Brasso-Cattleya", "xAgropogon", "x-smithiana", "-", "’s", "[", "]"]
)  # fmt: skip


@given(TREES)
def test_what_is_written_reads_back_as_the_same_tree(tree):
    # A qualifier before a named hybrid is written, and means nothing: no sign stands behind it.
    assume("aff. ×" not in write_name(tree) and "cf. ×" not in write_name(tree))
    assert read_name(write_name(tree)) == tree


@given(st.lists(SCRAPS, max_size=9).map(" ".join) | st.lists(SCRAPS, max_size=9).map("".join))
def test_any_scraps_are_read_once_and_for_all_or_refused(text):
    try:
        once = write_name(read_name(text))
    except BadInput:
        return
    assert write_name(read_name(once)) == once
    assert read_name(once) == read_name(text)


@given(st.text(max_size=40).filter(str.strip))
def test_any_text_at_all_can_be_logged_as_a_name(text):
    assert write_name(read_or_plain(text)).strip()


@given(TREES)
def test_the_sort_key_knows_no_signs_case_or_quotes(tree):
    key = sort_key(write_name(tree))
    assert key == sort_key(write_name(tree).lower())
    assert key == sort_key(key)
    assert not set(key) & set("×+*'\"()")


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("×Agropogon", "agropogon"),  # Shenzhen Code, Art. H.3.2-3
        ("xAgropogon littoralis", "agropogon littoralis"),
        ("X Agropogon", "agropogon"),
        ("Mentha × smithiana", "mentha smithiana"),
        ("Mentha ×smithiana", "mentha smithiana"),
        ("Polypodium vulgare nothosubsp. mantoniae", "polypodium vulgare subsp. mantoniae"),
        ("Clematis alpina ‘Ruby’", "clematis alpina ruby"),
        ("Phlox maculata", "phlox maculata"),
        ("Isoëtes", "isoetes"),
        ("+Crataegomespilus", "crataegomespilus"),
    ],
)
def test_names_that_differ_in_signs_only_sort_together(text, key):
    assert sort_key(text) == key


@pytest.mark.parametrize(
    "epithet", ["Elizabeth", "'Crimson Pygmy'", "Nettlemere Dusk", "Chater's Double", "Été"]
)
def test_a_sound_epithet_has_nothing_against_it(epithet):
    assert check_cultivar_epithet(epithet) == ()


@pytest.mark.parametrize(
    ("epithet", "problem"),
    [
        ("", "missing"),
        ("''", "missing"),
        ('"Ruby"', "not double"),
        ("cv. Ruby", "Leave out 'cv.'"),
        ("A" * 31, "31 characters are too many; 30 are the most"),
        ("N-17", "seedling's number"),
        ("2027", "seedling's number"),
        ("R", "One letter"),
        ("!?", "make no epithet"),
        ("Hybrid Seedling", "make no epithet by themselves"),
        ("ruby", "with a capital"),
        ("Ruby × Opal", "no part of an epithet"),
        ("Alba", "looks like Latin"),
        ("Splendid Rubriflora", "looks like Latin"),
    ],
)
def test_what_stands_against_an_epithet_is_said(epithet, problem):
    assert any(problem in found for found in check_cultivar_epithet(epithet))


def test_thirty_characters_are_counted_without_spaces_and_quotes():
    assert check_cultivar_epithet("'" + "Abcde " * 6 + "'") == ()


def test_reading_back_keeps_three_parents_in_one_formula():
    read = read_name("Mentha aquatica × M. arvensis × M. spicata")
    assert isinstance(read, Formula)
    assert len(read.parents) == 3


def test_a_kept_name_is_never_mistaken_for_one_that_was_read():
    assert AsTyped("Primula veris") != read_name("Primula veris")
