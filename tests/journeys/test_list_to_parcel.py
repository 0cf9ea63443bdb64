"""The keeper's and the members' half of the exchange: from the list to a result anybody can check."""

import html
import json
import re
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from tests.journeys.conftest import (
    AT,
    AURICULA,
    BARRED_WORDS,
    DENTICULATA,
    ELATIOR,
    LIST_OPENS,
    PUBLIC_VALUE,
    SHARING,
    WISHES,
    WISHES_CLOSE,
)

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).resolve().parents[2]


def facts(page: str) -> dict[str, str]:
    """What a page says of each fact, by its name; names do not repeat."""
    pairs = re.findall(r"<dt>(.*?)</dt>\s*<dd>(.*?)</dd>", page, re.DOTALL)
    return {name: re.sub(r"<.*?>", " ", said).strip() for name, said in pairs}


def reasons(page: str) -> list[str]:
    """The sentence for each wish, in the order of the member's list."""
    return [
        html.unescape(told) for told in re.findall(r"</span></h2>\s*<p>(.*?)</p>", page, re.DOTALL)
    ]


# The list


def test_the_draw_is_committed_to_before_anybody_wishes(opened):
    round_page = facts(opened.visit("tansy").see(f"{AT}/"))
    assert re.match(r"[0-9a-f]{64}", round_page["Commitment"])
    assert round_page["Secret"] == "shown with the result"
    assert "State lottery of 5 December 2026" in round_page["Public value"]


def test_only_a_keeper_opens_a_round_makes_its_list_and_shares_out(opened):
    for name in ("tansy", "hettie"):
        visitor = opened.visit(name)
        for path in ("/rounds/open/", f"{AT}/change/", f"{AT}/list/edit/", f"{AT}/sharing/"):
            visitor.see(path, status=403)
        for act in ("list/publish", "sharing/freeze", "sharing/run", "sharing/announce"):
            assert visitor.client.post(f"{AT}/{act}/").status_code == 403
    assert "Nothing is on the list yet" in opened.visit("ignatius").see(f"{AT}/list/edit/")


def test_lines_are_numbered_a_to_z_and_read_from_the_opening_on(opened):
    keeper = opened.visit("ignatius")
    assert "3 lots are on the list" in keeper.press(f"{AT}/list/edit/", all="all")
    keeper.press(f"{AT}/list/publish/")
    opened.visit("tansy").see(f"{AT}/list/", status=403)
    opened.go(LIST_OPENS)
    page = re.sub(r"</?i>", "", opened.visit("tansy").see(f"{AT}/list/"))
    lines = [page.split(f'id="line-{number}"')[1].split("</li>")[0] for number in (1, 2, 3)]
    for line, name in zip(lines, (AURICULA, DENTICULATA, ELATIOR), strict=True):
        assert name in line
    # 18 of 25: 52 to 86 % by Wilson's formula; the others nobody has sown.
    assert "52–86 %, 18 of 25 seeds" in lines[0]
    assert "not known yet" in lines[1]


# Wishes


def test_wishes_are_kept_in_their_order_and_read_by_nobody_else(wished):
    page = wished.visit("cosmo").see(f"{AT}/wishes/")
    saved = page.split('id="wishes"')[1]
    order = [saved.index(name) for name in ("denticulata", "auricula", "elatior")]
    assert order == sorted(order)
    cosmos = f"{AT}/wishes/of/{wished.people['cosmo'].number}/"
    wished.visit("tansy").see(cosmos, status=403)
    wished.visit("hettie").see(cosmos, status=403)
    assert "denticulata" in wished.visit("ignatius").see(cosmos)


def test_a_barred_line_is_refused_with_the_words_of_the_bar_and_nothing_typed_is_lost(wished):
    page = wished.visit("rollo").fill(f"{AT}/wishes/", main="2, 3")
    assert f"Line 3 cannot be asked for. Not to Australia: {BARRED_WORDS}" in html.unescape(page)
    assert "2, 3</textarea>" in page
    # What was saved before stands.
    assert "auricula" in wished.visit("rollo").see(f"{AT}/wishes/").split('id="wishes"')[1]


@pytest.mark.parametrize(
    ("main", "words"),
    [
        ("2, 1, 3", "You may have 2 packets. These are 3 main wishes"),
        ("2, 9", "There is no line 9 on this list"),
        ("2, 2", "Line 2 stands 2 times in your list; once is allowed"),
        ("two", "“two” is not a line number"),
    ],
)
def test_a_list_that_cannot_be_is_refused_in_words(listed, main, words):
    page = listed.visit("tansy").fill(f"{AT}/wishes/", main=main)
    assert words in html.unescape(page)
    assert f"{main}</textarea>" in page
    assert "No wishes yet" in page.split('id="wishes"')[1]


def test_a_donor_may_have_more_and_is_told_why(listed):
    page = listed.visit("cosmo").fill(f"{AT}/wishes/", main="2, 1, 3")
    assert "You gave 3 lots, so you may have 3 packets." in page
    assert "A receipt goes to cosmo@example.org" in page


def test_after_the_closing_a_member_changes_nothing_and_the_keeper_types_what_came_in_time(wished):
    wished.go(WISHES_CLOSE)
    tansy = wished.visit("tansy")
    assert "Save this list" not in tansy.see(f"{AT}/wishes/")
    assert "Wishes closed on 20 November 2026 at 20:00" in tansy.press(f"{AT}/wishes/", main="1")
    assert "denticulata" in tansy.see(f"{AT}/wishes/").split('id="wishes"')[1]
    hetties = f"{AT}/wishes/of/{wished.people['hettie'].number}/"
    page = wished.visit("ignatius").fill(hetties, main="3")
    assert "typed in by Ignatius Plumbline" in page


# Sharing out


def test_nothing_is_frozen_while_wishes_are_open_nor_drawn_before_it_is_frozen(wished):
    keeper = wished.visit("ignatius")
    assert "Wishes are still open" in keeper.press(f"{AT}/sharing/freeze/")
    wished.go(SHARING)
    keeper = wished.visit("ignatius")
    page = keeper.press(f"{AT}/sharing/run/", public_value=PUBLIC_VALUE)
    assert "Freeze wishes and stock first" in page
    frozen = keeper.press(f"{AT}/sharing/freeze/")
    # Four ask for two packets of line 2.
    assert re.search(r">2</td><td><i>Primula</i> <i>denticulata</i></td>.*?>2<.*?>4<", frozen)
    assert re.match(r"[0-9a-f]{64}", facts(wished.visit("tansy").see(f"{AT}/"))["Frozen inputs"])


def test_after_the_freezing_no_list_is_taken_from_anybody(wished):
    wished.go(SHARING)
    keeper = wished.visit("ignatius")
    keeper.press(f"{AT}/sharing/freeze/")
    hetties = f"{AT}/wishes/of/{wished.people['hettie'].number}/"
    assert "Wishes closed on" in keeper.press(hetties, main="3")


def test_the_keeper_reads_the_result_first_and_members_once_it_is_announced(shared):
    keeper_page = shared.visit("ignatius").see(f"{AT}/result/")
    assert facts(keeper_page)["Secret"] == "shown when the result is announced"
    for path in ("result/", "result/mine/", "result/inputs.json", "result/result.json"):
        shared.visit("tansy").see(f"{AT}/{path}", status=403)
    shared.visit("ignatius").press(f"{AT}/sharing/announce/")
    page = facts(shared.visit("tansy").see(f"{AT}/result/"))
    assert sha256(bytes.fromhex(page["Secret"])).hexdigest() == page["Commitment"].split()[0]
    assert page["Public value"].startswith(PUBLIC_VALUE)


def test_every_member_reads_a_reason_for_every_wish(announced):
    told = {name: reasons(announced.visit(name).see(f"{AT}/result/mine/")) for name in WISHES}
    for name, (main, reserve) in WISHES.items():
        assert len(told[name]) == len(re.findall(r"\d", main + reserve))
        assert told[name][1] == "There was enough for all 4 who asked."
    # Two packets of line 2 and four first choices: two were drawn, two read why not.
    got = [name for name in WISHES if told[name][0].startswith("Your 1st choice, taken in pass 1")]
    lost = [name for name in WISHES if told[name][0].startswith("2 packets, 4 main wishes.")]
    assert (len(got), len(lost)) == (2, 2)
    assert set(got) | set(lost) == set(WISHES)
    for name in lost:
        assert re.search(r"The last went in pass 1, turn \d\. You reached this wish", told[name][0])
        assert told[name][0].endswith("before it you had taken none.")


def test_a_result_is_read_by_its_member_and_the_keeper(announced):
    tansys = f"{AT}/result/of/{announced.people['tansy'].number}/"
    announced.visit("cosmo").see(tansys, status=403)
    own = reasons(announced.visit("tansy").see(f"{AT}/result/mine/"))
    assert reasons(announced.visit("ignatius").see(tansys)) == own


@pytest.fixture
def published(announced, tmp_path) -> tuple[Path, Path]:
    """The two files, downloaded by a member who trusts nobody."""
    paths = tmp_path / "inputs.json", tmp_path / "result.json"
    for path in paths:
        answer = announced.visit("wilhelmina").client.get(f"{AT}/result/{path.name}")
        path.write_bytes(answer.content)
    return paths


def share_out_again(*arguments: object) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "seedbank.calc.allocation", *map(str, arguments)],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )


def test_the_published_inputs_give_the_published_result_to_the_byte(announced, published):
    inputs, result = published
    again = share_out_again(inputs)
    assert again.returncode == 0, again.stderr
    document = json.loads(again.stdout)
    told = document.pop("reasons")
    written = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert f"{written}\n".encode() == result.read_bytes()
    page = announced.visit("tansy").see(f"{AT}/result/")
    assert sha256(inputs.read_bytes()).hexdigest() in page
    assert sha256(result.read_bytes()).hexdigest() in page
    # And each member reads the very sentences that anybody can work out.
    for name in WISHES:
        mine = announced.visit(name).see(f"{AT}/result/mine/")
        (published_as,) = [one for one in told if one in mine]
        assert reasons(mine) == [row[-1] for row in told[published_as]]


def test_a_result_that_somebody_has_touched_is_found_out(published):
    inputs, result = published
    assert share_out_again(inputs, "--check", result).returncode == 0
    one, other = [row["number"] for row in json.loads(inputs.read_text())["members"]][:2]
    touched = result.read_text().replace(f'"{one}"', f'"{other}"', 1)
    assert touched != result.read_text()
    result.write_text(touched)
    checked = share_out_again(inputs, "--check", result)
    assert checked.returncode == 1
    assert b"NOT the result" in checked.stdout
