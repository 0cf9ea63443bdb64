"""Source marks: R[n] is a page read for the project, listed by address; M is from memory.

R[5] docslib.org/doc/5772275/names-of-hybrids; R[6] iapt-taxon.org/nomen/pages/main/art_h2.html;
R[7] home.kpn.nl/klaasvanmanen/icbn/0071AppendixINoHa003.htm; R[12] proposals 081-082 on Art. H.6;
R[13] proposal 283; R[14] iapt-taxon.org/nomen/pages/main/art_h9.html; R[15] liquisearch.com,
examples of names governed by the ICNCP; R[16] cross-krishna.blogspot.com, cultivars; R[21] and
R[8] lists.tdwg.org, tdwg-content; R[22] tickerdossier.com/wiki/nothogeneric.
"""

import pytest

from crosses.calc.errors import BadInput
from crosses.calc.names import (
    AsTyped,
    Epithet,
    Formula,
    Mixture,
    Name,
    Run,
    Unnamed,
    formula,
    read_name,
    read_or_plain,
    write_name,
    write_runs,
)


def rewritten(text):
    return write_name(read_name(text))


@pytest.mark.parametrize(
    "correct",
    [
        "Agrostis stolonifera × Polypogon monspeliensis",  # R[6]
        "Kunzea linearis × K. robusta",  # R[6]
        "×Agropogon littoralis",  # R[7]
        "Mentha ×smithiana",  # R[7]
        "Salix ×capreola",  # R[7]
        "Salix ×capreola = Salix aurita × S. caprea",  # R[6], R[7]
        "Polypodium vulgare nothosubsp. mantoniae",  # R[7]
        "Mentha aquatica × M. arvensis × M. spicata",  # R[6]
        "×Philageria (Lapageria × Philesia)",  # R[14]
        "×Brassocattleya",  # R[12]
        "×Anthematricaria",  # R[12]
        "×Sophrolaeliocattleya (Cattleya × Laelia × Sophronitis)",  # R[12]
        "×Beallara",  # R[13]
        "×Kagawara",  # R[13]
        "Clematis alpina 'Ruby'",  # R[15]
        "Magnolia 'Elizabeth'",  # R[15]
        "Rhododendron boothii Mishmiense Group",  # R[15]
        "Paphiopedilum Sorel grex",  # R[15]
        "Paphiopedilum Sorel",  # R[15]
        "Berberis thunbergii 'Crimson Pygmy'",  # R[16]
        "Apple 'Jonathan'",  # R[15]
        "+Crataegomespilus",  # R[15]
        "Iris ×germanica",  # R[22]
        "Digitalis grandiflora × D. purpurea",  # R[7]
        "Digitalis mertonensis",  # R[7]
        "(Magnolia 'Elizabeth' × M. denudata) × self",  # M
    ],
)
def test_a_name_in_its_correct_form_is_left_as_it_is(correct):
    assert rewritten(correct) == correct


@pytest.mark.parametrize(
    ("typed", "correct"),
    [
        (
            "Agrostis stolonifera x Polypogon monspeliensis",
            "Agrostis stolonifera × Polypogon monspeliensis",
        ),  # R[6]
        ("Kunzea linearis × robusta", "Kunzea linearis × K. robusta"),  # R[6]
        ("kunzea linearis x robusta", "Kunzea linearis × K. robusta"),  # R[6]
        ("X Agropogon littoralis", "×Agropogon littoralis"),  # R[7]
        ("xAgropogon littoralis", "×Agropogon littoralis"),  # R[21]
        ("Mentha x-smithiana", "Mentha ×smithiana"),  # R[7]
        ("Mentha x smithiana", "Mentha ×smithiana"),  # H.3A.2: an x serves as the sign; R[10]
        ("Brasso-Cattleya", "×Brassocattleya"),  # R[12]
        ("×Brasso-Cattleya", "×Brassocattleya"),  # R[12]
        ('Clematis alpina "Ruby"', "Clematis alpina 'Ruby'"),  # R[16]
        ('Clematis alpina cv. "Ruby"', "Clematis alpina 'Ruby'"),  # R[16]
        ("Clematis alpina cv. Ruby", "Clematis alpina 'Ruby'"),  # R[16]
        ("Berberis thunbergii cv. 'Crimson Pygmy'", "Berberis thunbergii 'Crimson Pygmy'"),  # R[16]
        (
            "Rhododendron boothii 'Mishmiense Group'",
            "Rhododendron boothii Mishmiense Group",
        ),  # R[15]
        ("Paphiopedilum Sorel gx", "Paphiopedilum Sorel grex"),  # M
        ("Rosa 'Peace' (Modern Group)", "Rosa (Modern Group) 'Peace'"),  # order R[20]
        ("Primula veris ssp macrocalyx", "Primula veris subsp. macrocalyx"),
        ("Polypodium vulgare nothossp. mantoniae", "Polypodium vulgare nothosubsp. mantoniae"),
        ("[Primula veris x elatior] x vulgaris", "(Primula veris × P. elatior) × P. vulgaris"),
        ("Primula 'Blue Boy' x 'Red Girl'", "Primula 'Blue Boy' × P. 'Red Girl'"),
        ("ex Primula 'Blue Boy'", "Primula ex 'Blue Boy'"),
        ("Primula spp.", "Primula sp."),
    ],
)
def test_a_name_with_one_meaning_is_repaired_and_the_repair_is_noted(typed, correct):
    read = read_name(typed)
    assert write_name(read) == correct
    assert write_name(read_name(correct)) == correct
    assert read.notes


def test_a_correct_name_has_no_notes():
    assert read_name("Kunzea linearis × K. robusta").notes == ()
    assert read_name("Mentha ×smithiana 'Ruby'").notes == ()


@pytest.mark.parametrize(
    "sign", ["x", "X", "*", "×", "\N{MULTIPLICATION X}", "  x ", "\N{NO-BREAK SPACE}×\u2009"]
)
def test_the_sign_of_a_cross_is_understood_however_it_is_typed(sign):
    assert rewritten(f"Primula veris {sign} Primula elatior") == "Primula veris × P. elatior"


def test_the_sign_needs_no_spaces_round_it():
    assert rewritten("Primula veris×P.elatior*P.vulgaris") == (
        "Primula veris × P. elatior × P. vulgaris"
    )


@pytest.mark.parametrize(
    "text",
    ["Phlox paniculata", "Xanthosoma xanthina", "×Fatshedera lizei", "Xyris 'Max X'", "Ixia"],
)
def test_an_x_inside_a_word_is_a_letter(text):
    assert rewritten(text) == text
    assert not isinstance(read_name(text), Formula)


@pytest.mark.parametrize(
    "quoted",
    [
        "'Ruby'",
        "‘Ruby’",
        "’Ruby’",
        '"Ruby"',
        "“Ruby”",
        "„Ruby“",
        "`Ruby`",
        "\N{ACUTE ACCENT}Ruby\N{ACUTE ACCENT}",
    ],
)
def test_an_epithet_is_understood_in_any_quotation_marks(quoted):
    assert rewritten(f"Clematis {quoted}") == "Clematis 'Ruby'"


@pytest.mark.parametrize(
    ("typed", "epithet"),
    [
        ("Primula 'Chater's Double'", "Chater's Double"),
        ("Primula ‘Chater’s Double’", "Chater's Double"),
        ('Primula "Boys\' Own"', "Boys’ Own"),
        ("Primula 'A (b) × c = d'", "A (b) × c = d"),
    ],
)
def test_apostrophes_and_signs_inside_an_epithet_stay_inside(typed, epithet):
    read = read_name(typed)
    assert read.epithets == (Epithet("cultivar", epithet),)
    assert read_name(write_name(read)) == read


def test_the_seed_parent_stands_first_in_what_is_read():
    read = read_name("Primula bulleyana × P. beesiana")
    assert read.seed == Name(genus="Primula", species="bulleyana")
    assert read.pollen == Name(genus="Primula", species="beesiana")


@pytest.mark.parametrize(
    "typed",
    [
        "Kunzea robusta ♂ × K. linearis ♀",
        "♂ Kunzea robusta × ♀ Kunzea linearis",
        "Kunzea robusta (m) x K. linearis (f)",
        "Kunzea robusta (male) x K. linearis",
        "Kunzea linearis ♀ × K. robusta ♂",
        "Kunzea linearis (f) x K. robusta",
    ],
)
def test_signs_for_female_and_male_decide_which_parent_stands_first(typed):
    read = read_name(typed)
    assert write_name(read) == "Kunzea linearis × K. robusta"
    assert any("female and male" in note for note in read.notes)


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("Primula veris (open pollinated)", "Primula veris (open pollinated)"),
        ("Primula veris OP", "Primula veris (open pollinated)"),
        ("Primula veris x open pollinated", "Primula veris (open pollinated)"),
        ("Primula veris selfed", "Primula veris × self"),
        ("Primula veris x self", "Primula veris × self"),
        ("Primula veris x ?", "Primula veris × unknown"),
        ("? x Primula veris", "unknown × Primula veris"),
        ("Primula veris (no pollen)", "Primula veris (no pollen)"),
        ("Primula veris x elatior x OP", "(Primula veris × P. elatior) (open pollinated)"),
        ("Primula veris OP x elatior", "(Primula veris (open pollinated)) × P. elatior"),
        ("Primula veris x self x self", "(Primula veris × self) × self"),
        ("Primula veris x (elatior + vulgaris)", "Primula veris × (P. elatior + P. vulgaris)"),
        ("Primula veris x elatior + vulgaris", "Primula veris × (P. elatior + P. vulgaris)"),
        (
            "Primula veris x ((elatior x vulgaris) + ?)",
            "Primula veris × ((P. elatior × P. vulgaris) + unknown)",
        ),
    ],
)
def test_pollen_of_no_one_plant_has_its_written_form(typed, written):
    assert rewritten(typed) == written
    assert rewritten(written) == written


def test_mixed_pollen_and_unnamed_pollen_are_what_they_are_in_the_tree():
    assert isinstance(read_name("Primula veris x (P. elatior + P. vulgaris)").pollen, Mixture)
    assert read_name("Primula veris x self").pollen == Unnamed("self")


def test_brackets_stand_where_a_parent_is_itself_a_cross():
    read = read_name("(Primula veris x elatior) x (vulgaris x juliae)")
    assert write_name(read) == "(Primula veris × P. elatior) × (P. vulgaris × P. juliae)"
    assert isinstance(read.seed, Formula)
    assert isinstance(read.pollen, Formula)


@pytest.mark.parametrize(
    ("typed", "number", "written"),
    [
        ("Primula N-17", "N-17", "Primula seedling N-17"),
        ("Primula seedling no. N-17", "N-17", "Primula seedling N-17"),
        ("Primula sp. 2027/14", "2027/14", "Primula sp. seedling 2027/14"),
        ("Primula #99-13F", "99-13F", "Primula seedling 99-13F"),
        ("seedling N-17", "N-17", "seedling N-17"),
    ],
)
def test_a_seedlings_number_stays_a_number_and_gets_no_quotes(typed, number, written):
    read = read_name(typed)
    assert read.epithets == (Epithet("seedling", number),)
    assert write_name(read) == written


def test_a_seedlings_number_in_quotes_is_kept_and_remarked_on():
    read = read_name("Primula 'N-17'")
    assert write_name(read) == "Primula 'N-17'"
    assert "looks like a seedling's number" in read.notes[0]


def test_a_seedling_of_a_named_plant_does_not_bear_its_name():
    assert read_name("Primula ex 'Blue Boy'").is_seedling_of
    assert not read_name("Primula 'Blue Boy'").is_seedling_of
    assert rewritten("Primula ex veris") == "Primula ex veris"


@pytest.mark.parametrize(
    "text", ["Primula aff. elatior", "Primula cf. elatior", "Primula sp.", "Primula hybrid"]
)
def test_a_plant_not_surely_named_says_so(text):
    assert rewritten(text) == text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Write the name of the plant"),
        ("K. robusta", "K. is short for a genus that was not named before"),
        ("Primula veris x K. robusta", "K. is short for a genus that was not named before"),
        ("Primula veris × Primulina alba × P. elatior", "P. may be short for Primula or Primulina"),
        ("'Blue Boy' x Primula veris", "Write the genus before 'Blue Boy'"),
        ("Primula veris macrocalyx", "Before macrocalyx its rank is missing"),
        ("Primula veris subsp.", "Behind subsp. an epithet is missing"),
        ("Primula veris L.", "leave out the author"),
        ("Primula veris Hill", "Put Hill in single quotation marks if it is a cultivar"),
        ("Primula 'Blue Boy", "A closing quotation mark is missing"),
        ("Primula 'Blue' 'Boy'", "one cultivar name, not two"),
        ("Primula ' '", "Between the quotation marks the name is missing"),
        ("Paphiopedilum Sorel 5 Blue Group", "one group name, not two"),
        ("Primula cv.", "Behind 'cv.' the cultivar's name is missing"),
        ("Primula seedling", "Behind 'seedling' stands its number"),
        ("Primula ex", "Behind 'ex' stands the plant"),
        ("Primula (pin)", "In brackets behind a name"),
        ("(Primula veris x elatior", "A closing bracket is missing"),
        ("Primula veris) x elatior", "cannot be read at this place"),
        ("Primula veris x", "The end of the name stands where a genus should"),
        ("Primula veris + elatior", "cannot be read at this place"),
        ("self x Primula veris", "The seed parent stands first"),
        ("(Primula veris + P. elatior) x P. vulgaris", "The seed parent stands first"),
        ("Primula veris ♀ x elatior ♀", "female and male stand once each"),
        ("Primula veris ?", "the sign of a cross is missing"),
        ("Primula veris x robusta alba", "robusta may be a genus or a species here"),
        ("Primula veris = P. elatior", "An equals sign stands between"),
        ("12 packets", "'packets' cannot be read at this place"),
        ("!", "'!' stands where a genus should"),
        ("(" * 20 + "Primula" + ")" * 20, "brackets stand in one another"),
        ("P" * 3000, "at most 2000 characters"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(typed, sentence):
    with pytest.raises(BadInput, match=sentence):
        read_name(typed)


def test_a_name_that_cannot_be_read_is_kept_as_typed_and_says_why():
    kept = read_or_plain("  the red one  by the gate x")
    assert kept == AsTyped("the red one by the gate x")
    assert kept.notes[0].startswith("Kept as typed. ")
    assert write_name(kept) == "the red one by the gate x"


def test_a_name_that_can_be_read_is_read():
    assert read_or_plain("Primula veris") == read_name("Primula veris")


def test_nothing_typed_is_no_name_at_all():
    with pytest.raises(BadInput, match="Write the name"):
        read_or_plain("  ")


@pytest.mark.parametrize(
    ("seed", "pollen", "written"),
    [
        ("Primula 'Blue Boy'", "Primula 'Red Girl'", "Primula 'Blue Boy' × P. 'Red Girl'"),
        ("Primula veris", "Polypodium vulgare", "Primula veris × Polypodium vulgare"),
        ("Primula veris", "Primula veris x P. elatior", "Primula veris × (P. veris × P. elatior)"),
        ("Primula veris OP", "Primula elatior", "(Primula veris (open pollinated)) × P. elatior"),
        (
            "×Agropogon littoralis",
            "×Agropogon littoralis",
            "×Agropogon littoralis × ×Agropogon littoralis",
        ),
        ("Apple 'Jonathan'", "Apple 'Cox'", "Apple 'Jonathan' × Apple 'Cox'"),
        (
            "Salix ×capreola = Salix aurita × S. caprea",
            "Salix alba",
            "Salix ×capreola (S. aurita × S. caprea) × S. alba",
        ),
        ("the red one x that one", "Primula veris", "(the red one x that one) × Primula veris"),
        ("Primula", "Primula", "Primula × Primula"),
    ],
)
def test_two_parents_make_a_formula_with_brackets_where_they_are_needed(seed, pollen, written):
    assert write_name(formula(read_or_plain(seed), read_or_plain(pollen))) == written


def test_a_genus_is_shortened_only_where_its_initial_means_it_alone():
    first = formula(read_name("Primula veris"), read_name("Polypodium vulgare"))
    assert write_name(formula(first, read_name("Primula elatior"))) == (
        "(Primula veris × Polypodium vulgare) × Primula elatior"
    )


def test_pollen_may_be_self_open_or_none_but_the_seed_parent_may_not():
    seed = read_name("Primula veris")
    assert write_name(formula(seed, Unnamed("open"))) == "Primula veris (open pollinated)"
    assert write_name(formula(Unnamed("unknown"), seed)) == "unknown × Primula veris"
    for pollen_only in (Unnamed("self"), Unnamed("open"), Unnamed("none"), Mixture((seed, seed))):
        with pytest.raises(BadInput, match="The seed parent is one plant"):
            formula(pollen_only, seed)


def test_latin_is_set_in_italics_and_all_else_in_roman():
    assert write_runs(
        read_name("(×Agropogon littoralis × Mentha ×smithiana) × Mentha aff. alba 'Ruby'")
    ) == (
        Run("(×", italic=False),
        Run("Agropogon", italic=True),
        Run(" ", italic=False),
        Run("littoralis", italic=True),
        Run(" × ", italic=False),
        Run("Mentha", italic=True),
        Run(" ×", italic=False),
        Run("smithiana", italic=True),
        Run(") × ", italic=False),
        Run("M.", italic=True),
        Run(" aff. ", italic=False),
        Run("alba", italic=True),
        Run(" 'Ruby'", italic=False),
    )


@pytest.mark.parametrize(
    ("text", "italics"),
    [
        ("Polypodium vulgare nothosubsp. mantoniae", ["Polypodium", "vulgare", "mantoniae"]),
        ("Rhododendron boothii Mishmiense Group", ["Rhododendron", "boothii"]),
        ("Paphiopedilum Sorel grex", ["Paphiopedilum"]),
        ("Apple 'Jonathan'", []),
        ("+Crataegomespilus", ["Crataegomespilus"]),
        ("Primula sp. seedling 5", ["Primula"]),
        ("Primula veris (open pollinated)", ["Primula", "veris"]),
    ],
)
def test_signs_ranks_groups_and_cultivars_are_roman(text, italics):
    runs = write_runs(read_name(text))
    assert [run.text for run in runs if run.italic] == italics
    assert "".join(run.text for run in runs) == text
