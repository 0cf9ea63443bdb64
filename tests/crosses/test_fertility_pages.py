"""How readily plants take, as their pages, the cross's and the tag's say it."""

import datetime

import pytest
from django.urls import reverse

from crosses.actions.capsule import record_check
from crosses.actions.harvest import log_harvest
from crosses.calc.fertility import none_took
from crosses.models import Cross, Harvest
from crosses.queries.fertility import figures_of_plant, pair_model
from crosses.queries.lineage import lineage_of
from tests.conftest import NOON
from tests.factories.crosses import TaxonFactory, make_cross, make_plant, make_pollination

SEEN_ON = datetime.date(2026, 5, 1)
HARVESTED_ON = datetime.date(2026, 5, 20)


def made(grower, seed_parent, pollen_parent, flowers, took, **facts):
    """Log flowers of a cross, of which some took and the others did not."""
    cross = make_cross(grower, seed_parent=seed_parent, pollen_parent=pollen_parent, **facts)
    pollination = make_pollination(grower, cross, flowers=flowers)
    kind, seen = ("swelling", took) if took else ("aborted", flowers)
    record_check(
        pollination=pollination, by=grower, at=NOON, seen_on=SEEN_ON, kind=kind, flowers=seen
    )
    return pollination


def harvested(grower, pollination, capsules, seeds, counting="counted"):
    return log_harvest(
        cross=pollination.cross,
        by=grower,
        at=NOON,
        harvested_on=HARVESTED_ON,
        capsules=[(pollination, capsules)],
        seed_counting=counting,
        seeds=seeds,
    )


def page_of_plant(client, plant):
    return client.get(reverse("plant-detail", args=[plant.number])).content.decode()


def test_a_plant_has_its_raw_share_beside_what_the_others_teach(tansy, smoke, lemon, signed_in):
    made(tansy, smoke, lemon, flowers=3, took=2)
    made(tansy, lemon, smoke, flowers=20, took=5)
    as_seed, as_pollen = figures_of_plant(tansy, smoke)
    assert (
        (as_seed.share.x, as_seed.share.n) == (as_seed.rate.taken, as_seed.rate.flowers) == (2, 3)
    )
    assert (as_pollen.share.x, as_pollen.share.n) == (5, 20)
    # The other seed parent took less, so 2 of 3 is thought to be luck in part.
    assert as_seed.rate.estimate < 2 / 3
    page = page_of_plant(signed_in(tansy), smoke)
    assert "2 of 3 flowers took, read beside 2 plants tried in this role" in page
    assert "80 % interval" in page


def test_selfings_and_mixed_pollen_say_nothing_of_a_role(tansy, smoke, lemon):
    made(tansy, smoke, lemon, flowers=3, took=2)
    selfing = make_cross(tansy, seed_parent=smoke, pollen=Cross.Pollen.SELF)
    mixed = make_cross(
        tansy, seed_parent=smoke, pollen=Cross.Pollen.MIXED, mixture=[(lemon, 1), (smoke, 1)]
    )
    for cross in (selfing, mixed):
        flower = make_pollination(tansy, cross, flowers=9)
        record_check(
            pollination=flower, by=tansy, at=NOON, seen_on=SEEN_ON, kind="aborted", flowers=9
        )
    as_seed, as_pollen = figures_of_plant(tansy, smoke)
    assert (as_seed.share.x, as_seed.share.n) == (2, 3)
    assert as_pollen.share.n == 0


def test_a_plant_of_which_none_took_is_not_called_sterile(tansy, smoke, lemon, signed_in):
    made(tansy, smoke, lemon, flowers=15, took=0)
    page = page_of_plant(signed_in(tansy), smoke)
    # 1 - 0.05 ** (1 / 15) = 0.181.
    assert "0 of 15: probably under 18 % (95 % upper, exact)." in page
    assert "sterile" not in page


def test_a_flower_nobody_looked_at_is_not_counted(tansy, smoke, lemon):
    make_pollination(tansy, make_cross(tansy, seed_parent=smoke, pollen_parent=lemon), flowers=4)
    as_seed, _as_pollen = figures_of_plant(tansy, smoke)
    assert as_seed.share.n == 0
    assert as_seed.none_took == ""


def test_the_unlike_unions_of_1877_have_both_their_means(tansy, lemon, signed_in):
    """Darwin, The Different Forms of Flowers (1877), Primula vulgaris, unlike unions.

    12 flowers gave 11 capsules of 66.9 seeds, 8 flowers 7 capsules of 65.0; the book's totals are
    18 of 20 and, as plain mean, 66.0.
    """
    plants = [make_plant(tansy, name) for name in ("Primula long", "Primula short")]
    for plant, (flowers, capsules, seeds) in zip(plants, [(12, 11, 736), (8, 7, 455)], strict=True):
        harvested(tansy, made(tansy, plant, lemon, flowers, capsules), capsules, seeds)
    as_pollen = figures_of_plant(tansy, lemon)[1]
    assert (as_pollen.share.x, as_pollen.share.n) == (18, 20)
    page = page_of_plant(signed_in(tansy), lemon)
    assert "66.2 seeds a capsule over 18 capsules; 66.0 as plain mean of 2 crosses." in page
    assert "weighted" in page
    assert "unweighted" in page


def test_guessed_seeds_are_not_averaged(tansy, smoke, lemon):
    flower = made(tansy, smoke, lemon, flowers=6, took=5)
    harvested(tansy, flower, 2, 500, counting=Harvest.SeedCounting.GUESSED)
    assert figures_of_plant(tansy, smoke)[0].seeds is None
    harvested(tansy, flower, 3, 90)
    assert figures_of_plant(tansy, smoke)[0].seeds.by_capsule == 30


def test_what_a_grower_keeps_to_himself_teaches_nobody_else(tansy, cosmo, smoke, lemon):
    harvested(tansy, made(tansy, smoke, lemon, 6, 5, visibility="me"), 2, 40)
    assert pair_model(tansy).flowers == 6
    assert pair_model(cosmo).flowers == 0
    as_seed = figures_of_plant(cosmo, smoke)[0]
    assert as_seed.share.n == 0
    assert as_seed.seeds is None


def test_a_backcross_is_named_with_its_taxa(tansy, signed_in):
    bulleyana = make_plant(tansy, "Primula bulleyana", taxon=TaxonFactory(species="bulleyana"))
    beesiana = make_plant(tansy, "Primula beesiana", taxon=TaxonFactory(species="beesiana"))

    def raised(name, seed_parent, pollen_parent):
        cross = make_cross(tansy, seed_parent=seed_parent, pollen_parent=pollen_parent)
        return make_plant(tansy, name, origin="cross", raised_from=cross)

    first = raised("N-1", bulleyana, beesiana)
    back = raised("N-2", first, beesiana)
    assert lineage_of(tansy, back).made_of.generation.name == "BC1"
    page = page_of_plant(signed_in(tansy), back)
    assert "<b>BC1</b>" in page
    assert "BC1 of Primula beesiana × Primula bulleyana to Primula beesiana." in page
    odd = raised("N-3", back, bulleyana)
    assert lineage_of(tansy, odd).made_of.generation.name == ""
    assert "No generation name is due" in page_of_plant(signed_in(tansy), odd)


def test_the_page_of_a_cross_tells_the_chance_of_its_pair(tansy, smoke, lemon, signed_in):
    pollination = made(tansy, smoke, lemon, flowers=6, took=5)
    page = signed_in(tansy).get(reverse("cross-detail", args=[pollination.cross.number]))
    text = page.content.decode()
    assert "Chance that a flower of this pair takes" in text
    assert "this very pair: 5 of 6 flowers took" in text
    chance = page.context["chance"]
    assert f"<b>{100 * chance.chance:.0f} %</b>" in text


@pytest.mark.parametrize("pollen", [Cross.Pollen.SELF, Cross.Pollen.OPEN, Cross.Pollen.NONE])
def test_without_a_pollen_plant_no_chance_is_told(tansy, smoke, lemon, signed_in, pollen):
    made(tansy, smoke, lemon, flowers=6, took=5)
    cross = make_cross(tansy, seed_parent=smoke, pollen=pollen)
    page = signed_in(tansy).get(reverse("cross-detail", args=[cross.number])).content.decode()
    assert "Chance that a flower" not in page


def test_nothing_is_told_while_no_flower_is_decided(tansy, signed_in):
    pollination = make_pollination(tansy)
    page = signed_in(tansy).get(reverse("pollination-tag", args=[pollination.number]))
    assert "Chance that a flower" not in page.content.decode()


def test_the_tag_tells_the_chance_of_the_pair_just_pollinated(tansy, smoke, lemon, signed_in):
    made(tansy, smoke, lemon, flowers=12, took=0)
    other = make_plant(tansy, "Primula other")
    made(tansy, other, lemon, flowers=12, took=11)
    again = make_pollination(
        tansy, make_cross(tansy, seed_parent=smoke, pollen_parent=lemon, own_number="again")
    )
    page = signed_in(tansy).get(reverse("pollination-tag", args=[again.number]))
    assert "this very pair: 0 of 12 flowers took" in page.content.decode()
    assert page.context["chance"].chance < 0.4


def test_a_partner_of_which_none_took_says_so_in_its_grounds(tansy, smoke, lemon, signed_in):
    made(tansy, smoke, lemon, flowers=12, took=0)
    page = signed_in(tansy).get(reverse("plant-partners", args=[smoke.number])).content.decode()
    assert none_took(12) in page
    assert "No known relation." in page


def test_like_forms_are_told_apart_once_many_flowers_tell_them(tansy):
    pins, thrums = (
        [make_plant(tansy, f"Primula {form} {n}", style_form=form) for n in range(4)]
        for form in ("pin", "thrum")
    )
    for n in range(3):
        made(tansy, pins[n], thrums[n], flowers=10, took=9)
        made(tansy, pins[n], pins[(n + 1) % 3], flowers=10, took=2)
    model = pair_model(tansy)
    pair = pins[3].number, thrums[3].number
    unlike, like = (model.chance(*pair, is_same_form=form).chance for form in (False, True))
    assert unlike > like


@pytest.mark.parametrize(("page", "most"), [("plant-detail", 30), ("cross-detail", 30)])
def test_more_flowers_cost_no_more_queries(
    tansy, smoke, lemon, signed_in, django_assert_max_num_queries, page, most
):
    first = made(tansy, smoke, lemon, flowers=6, took=5)
    number = smoke.number if page == "plant-detail" else first.cross.number
    client, address = signed_in(tansy), reverse(page, args=[number])
    with django_assert_max_num_queries(most) as few:
        client.get(address)
    for n in range(3):
        made(tansy, smoke, make_plant(tansy, f"Primula {n}"), flowers=4, took=n)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(address)


def test_what_is_learnt_is_kept_until_something_is_written(
    tansy, cosmo, smoke, django_assert_num_queries
):
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    flower = make_pollination(tansy, make_cross(tansy, seed_parent=smoke, pollen_parent=lemon))
    first = pair_model(tansy)
    # Whether there are flowers of one's own alone, and the last line of each history.
    with django_assert_num_queries(2):
        assert pair_model(cosmo) is first
    record_check(pollination=flower, by=tansy, at=NOON, seen_on=SEEN_ON, kind="swelling")
    assert pair_model(tansy).flowers == first.flowers + 1


def test_flowers_nobody_else_may_see_teach_their_grower_alone(tansy, cosmo, smoke):
    lemon = make_plant(tansy, "Primula 'Oddwater Lemon'")
    cross = make_cross(tansy, seed_parent=smoke, pollen_parent=lemon, visibility="me")
    record_check(
        pollination=make_pollination(tansy, cross), by=tansy, at=NOON, seen_on=SEEN_ON, kind="swelling"
    )  # fmt: skip
    assert pair_model(cosmo).flowers == 0
    assert pair_model(tansy).flowers == 1
    assert pair_model(cosmo).flowers == 0
