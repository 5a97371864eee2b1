"""The pages of lines: the list, what-if, designing out, the text with its faults marked."""

from __future__ import annotations

import json
import re
import time
import tomllib
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "examples" / "line.toml"


@pytest.fixture(scope="module")
def modelled(client):
    """The example kept as the model of the steam main."""
    text = EXAMPLE.read_text(encoding="utf-8").replace('"L-101"', '"18-ST"')
    data = {"text": text, "author": "A. Engineer", "reason": "first model"}
    before = client.get("/lines/18-ST/mechanics").text
    data["seen"] = re.search(r'name="seen" value="(\w*)"', before).group(1)
    assert client.post("/lines/18-ST/mechanics", data=data).status_code == 303
    return client


@pytest.fixture
def us(client):
    """The same site read in US customary units, for one test."""
    from takeup.desk.site import Site
    from takeup.register.snapshot import Register
    from takeup.units import System

    with pytest.MonkeyPatch.context() as patch:
        for one in (Site, Register):
            patch.setattr(one, "system", property(lambda self: System.US))
        yield client


def test_the_list_tells_how_each_model_stands_and_leads_on(modelled):
    """Every line of the unit, from the contents of every page, with what can be asked of it."""
    assert '<a href="/lines"' in modelled.get("/").text
    text = modelled.get("/lines").text
    row = re.search(r'<th scope="row"><a href="/lines/18-ST">.*?</tr>', text, re.S).group(0)
    for words in ("modelled", "5.92", "not met", "/lines/18-ST/what-if", "/lines/18-ST/design-out"):
        assert words in row, words
    assert text.count('<th scope="row"><a href="/lines/') == 8


def test_a_model_with_faults_is_listed_with_its_first_fault(client):
    """The list leads to the text to mend."""
    data = {"text": 'line = "17-FX"\n[[pipe]]\nwall = -3\n', "author": "A", "reason": "begun"}
    seen = re.search(r'name="seen" value="(\w*)"', client.get("/lines/17-FX/mechanics").text)
    client.post("/lines/17-FX/mechanics", data={**data, "seen": seen.group(1)})
    row = re.search(r'<a href="/lines/17-FX">.*?</tr>', client.get("/lines").text, re.S).group(0)
    assert "model with faults" in row
    assert "/lines/17-FX/mechanics#model" in row
    page = client.get("/lines/17-FX/mechanics").text
    assert 'data-line="3">line 3</a> <code>wall = -3</code>' in page
    assert client.get("/lines/17-FX/what-if").status_code == 409
    assert "Mend the text first" in client.get("/lines/17-FX/design-out").text


def test_the_drawing_is_there_twice_on_paper_and_for_the_script(modelled):
    """The scene is JSON that closes no element; states, joint and its address are in it."""
    text = modelled.get("/lines/18-ST/mechanics").text
    raw = re.search(r'<script type="application/json" data-scene>(.*?)</script>', text, re.S)
    scene = json.loads(raw.group(1))
    assert "<" not in raw.group(1)
    assert [one["name"] for one in scene["states"]] == ["cold", "hot"]
    assert any(one["name"] == "EJ-101" for one in scene["targets"])
    assert 'aria-label="Isometric of the line, as on paper"' in text
    assert '<script type="module" src="/static/isometric.js">' in text
    script = modelled.get("/static/isometric.js")
    assert script.status_code == 200
    assert "javascript" in script.headers["content-type"]


def test_movement_against_design_hardware_and_findings_stand_on_the_page(client):
    """Rated movement and fatigue of the bellows beside theory; rods, pins, what is seen."""
    text = client.get("/lines/12-SC/mechanics").text
    for words in ("Movement of the joints against their design", "against rated",
                  "Cycles against the design fatigue curve", "Rods and pins of joints",
                  "Loads on anchors as estimated by 319.5.1"):  # fmt: skip
        assert words in text, words
    scene = json.loads(re.search(r"data-scene>(.*?)</script>", text, re.S).group(1))
    joint = next(one for one in scene["targets"] if one["name"] == "EJ-1201")
    assert any("against rated" in row[0] for row in joint["numbers"][-1])
    assert ["Everything about this joint", "/joints/EJ-1201"] in joint["links"]


def test_factors_of_the_other_book_are_chosen_and_a_slip_is_answered(modelled):
    """Another book gives another range; an unknown one is refused with the nearest."""
    plain = modelled.get("/lines/18-ST/mechanics").text
    other = modelled.get("/lines/18-ST/mechanics?factors=B31J&rule=1b").text
    assert "Factors taken: Appendix D" in plain
    assert "Factors taken: B31J" in other
    assert "equation (1b)" in other
    assert modelled.get("/lines/18-ST/mechanics?factors=B31K").status_code == 404


def test_a_boxed_in_joint_is_told_before_and_after_with_its_cautions(modelled):
    """From the joint's place in the drawing: what gives first, both shapes, the next cycle."""
    asked = modelled.get("/lines/18-ST/what-if?joint:EJ-101:do=lock&next_cycle=yes")
    assert asked.status_code == 200
    for words in (
        "EJ-101 boxed in as it stands in state hot", "must be freed before the line cools down",
        "gives way first", "times yield", "Before and after", "cold after", "hot again",
        "Checks before and after", "carries weight and pressure as if it were rigid",
        ", before", "deflected shape, before",
    ):  # fmt: skip
        assert words in asked.text, words
    scene = json.loads(re.search(r"data-scene>(.*?)</script>", asked.text, re.S).group(1))
    assert len(scene["before"]) == len(scene["pieces"])
    assert next(p for p in scene["pieces"] if p["kind"] == "joint")["locked"]


def test_several_changes_act_together_and_the_form_keeps_them(modelled):
    """A lost spring, a freed guide and another temperature in one answer."""
    query = (
        "support:spring at knee.out:do=lose&support:guide at joint near:do=free"
        "&state:hot:temperature=500 C&asked=yes"
    )
    text = modelled.get(f"/lines/18-ST/what-if?{query}").text
    assert "pring at knee.out gone" in text
    assert "uide at joint near set free: stops out, no friction" in text
    assert "state hot at another temperature" in text
    assert '<option value="lose" selected>' in text
    assert 'value="500 C"' in text
    assert "support that is gone" in text


def test_pipe_in_place_of_a_joint_and_other_bellows(modelled):
    """Taken out, the joint leaves the drawing; a rate in the site's unit is read."""
    out = modelled.get("/lines/18-ST/what-if?joint:EJ-101:do=take-out").text
    scene = json.loads(re.search(r"data-scene>(.*?)</script>", out, re.S).group(1))
    assert not any(one["kind"] == "joint" for one in scene["pieces"])
    assert any(one["kind"] == "joint" for one in scene["before"])
    text = modelled.get("/lines/18-ST/what-if?joint:EJ-101:do=rate&joint:EJ-101:rate=3000").text
    assert "EJ-101 with other bellows" in text
    assert re.search(r"moment on anchor at cooler", text)


def test_bellows_of_a_search_take_the_place_of_what_is_in_the_joint(modelled):
    """A replacement found by sizing is offered, asked of the line, and refused where too long."""
    import msgspec

    from takeup.bellows.sizing import SizingTask
    from takeup.desk import calculate
    from takeup.given import take

    raw = tomllib.loads((EXAMPLE.parent / "size.toml").read_text(encoding="utf-8"))
    task = take(raw, SizingTask).value
    assert task is not None
    site = modelled.app.state.site
    key = calculate.keep_task(site, msgspec.structs.replace(task, name="for the main"))
    number = calculate.run_sizing(site, key).result.choices[0].candidate.number
    offered = f'<option value="{key}/{number}">for the main, no. {number}:'
    assert offered in modelled.get("/lines/18-ST/what-if").text
    asked = f"/lines/18-ST/what-if?joint:EJ-101:do=sized&joint:EJ-101:sized={key}"
    answer = modelled.get(f"{asked}/{number}")
    assert answer.status_code == 200, answer.text
    assert "EJ-101 with other bellows" in answer.text
    unknown = modelled.get(f"{asked}/9999999")
    assert unknown.status_code == 422
    assert "there is no bellows" in unknown.text


def test_blanks_of_the_form_leave_the_address_short(modelled):
    """What was not filled is not in the address that can be kept."""
    answer = modelled.get(
        "/lines/18-ST/what-if?asked=yes&joint:EJ-101:do=&joint:EJ-101:rate=&state:hot:temperature=&"
        "joint:EJ-101:at=hot"
    )
    assert answer.status_code == 303
    assert answer.headers["location"] == ("/lines/18-ST/what-if?asked=yes&joint%3AEJ-101%3Aat=hot")


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("asked=yes", "say what changes"),
        ("joint:EJ-9:do=lock", "line 18-ST has no joint &#39;EJ-9&#39;"),
        ("joint:EJ-101:do=lock&joint:EJ-101:at=hto", "there is no state"),
        ("joint:EJ-101:do=rate", "give the axial rate of each bellows"),
        ("joint:EJ-101:do=rate&joint:EJ-101:rate=5 kN", "not one for axial rate"),
        ("joint:EJ-101:do=rate&joint:EJ-101:rate=-5", "must be more than zero"),
        ("joint:EJ-101:rate=5", "choose bellows of another rate, or leave it blank"),
        ("support:anchor at cooler:do=lose", "rigid as modelled"),
        ("support:spring at knee.out:do=reset&support:spring at knee.out:load=-1", "below zero"),
        ("state:hot:temperature=-400 C", "more than zero kelvin"),
        ("state:hot:temperature=9000 C", "covered by"),
        ("joint:EJ-101:do=explode", "not one of the choices"),
    ],
)
def test_what_cannot_be_asked_is_told_where_it_stands(modelled, query, words):
    """Unknown names, wrong units, negative sizes: nothing is worked out, what was typed is kept."""
    answer = modelled.get(f"/lines/18-ST/what-if?{query}")
    assert answer.status_code == 422
    assert words in answer.text
    assert "Before and after</h2>" not in answer.text


def test_loads_and_sentences_follow_the_units_of_the_site(modelled, us):
    """On a US site no load of what-if is told in kN, no stress in MPa."""
    text = us.get("/lines/18-ST/what-if?joint:EJ-101:do=lock&next_cycle=yes").text
    assert "lbf" in text
    assert "ksi" in text
    shown = re.sub(r"<textarea.*?</textarea>|<script.*?</script>", "", text, flags=re.S)
    assert not re.search(r"\d\s?(kN|MPa|mm)\b", shown.replace("\u00a0", " "))
    page = us.get("/lines/18-ST/mechanics").text
    assert "forces in lbf" in page


def wait(client, location):
    """Until the job behind ``location`` has ended; where it leads."""
    id, then = re.fullmatch(r"/jobs/(\d+)\?then=(.*)", location).groups()
    for _ in range(400):
        told = client.get(f"/jobs/{id}").text
        if "data-job" not in told:
            return then, told
        time.sleep(0.05)
    raise AssertionError("the job did not end")


def test_a_search_runs_as_a_job_and_its_result_can_be_kept(modelled):
    """Limits in; nearest drawn with the reason none holds; another alternative by its address."""
    answer = modelled.post(
        "/lines/18-ST/design-out",
        data={"joint": "EJ-101", "largest": "3", "way": ["west"], "rates": "60; 500 lbf/in"},
    )
    assert answer.status_code == 303
    then, _ = wait(modelled, answer.headers["location"])
    text = modelled.get(then).text
    for words in ("None of", "not a design", "Nearest of those tried", "towards west",
                  "With the joint in it", "nearest of", "data-scene"):  # fmt: skip
        assert words in text, words
    assert "The model or its joints have changed" not in text
    assert "towards east" not in text
    assert "Plain pipe in its place" in modelled.get(f"{then}?show=0").text
    assert modelled.get(f"{then}?show=999").status_code == 404
    toml = modelled.get(f"{then}/0/model.toml")
    assert toml.headers["content-disposition"].startswith("attachment")
    assert "EJ-101" not in toml.text.replace("without", "")
    assert modelled.get("/lines/12-SC/design-out/" + then.rsplit("/", 1)[1]).status_code == 404


def test_a_search_that_is_cancelled_leaves_no_result_and_says_so(modelled, monkeypatch):
    """Cancel stops it at its next alternative; the address of the result offers to run it again."""
    from takeup.desk import design_out

    real = design_out.checks_of

    def slowly(line):
        time.sleep(0.2)
        return real(line)

    monkeypatch.setattr(design_out, "checks_of", slowly)
    answer = modelled.post("/lines/18-ST/design-out", data={"joint": "EJ-101", "largest": "2"})
    location = answer.headers["location"]
    id = re.match(r"/jobs/(\d+)", location).group(1)
    assert "progress" in modelled.get(location).text
    busy = modelled.post("/lines/18-ST/design-out", data={"joint": "EJ-101", "largest": "1"})
    assert busy.status_code == 409
    assert "already running" in busy.text
    modelled.post(f"/jobs/{id}/cancel")
    then, told = wait(modelled, location)
    assert "cancelled" in told
    assert "did not run to its end" in modelled.get(then).text


@pytest.mark.parametrize(
    ("data", "field", "words"),
    [
        ({"joint": "", "largest": "3"}, "joint", "choose the joint"),
        ({"joint": "EJ-9", "largest": "3"}, "joint", "is not known"),
        ({"joint": "EJ-101", "largest": ""}, "largest", "say how long"),
        ({"joint": "EJ-101", "largest": "-3"}, "largest", "must lie between"),
        ({"joint": "EJ-101", "largest": "3 kN"}, "largest", "not one for distance"),
        ({"joint": "EJ-101", "largest": "3", "rates": "60; -1"}, "rates", "more than zero"),
        ({"joint": "EJ-101", "largest": "3", "rates": "1;2;3;4;5;6"}, "rates", "at most 5"),
        ({"joint": "EJ-101", "largest": "3", "way": "outwards"}, "way", "one of east"),
    ],
)
def test_limits_that_make_no_search_are_told_at_their_field(modelled, data, field, words):
    """Nothing is started; what was typed is still there."""
    answer = modelled.post("/lines/18-ST/design-out", data=data)
    assert answer.status_code == 422
    told = re.search(rf'<div class="fault" id="{field}-fault">(.*?)</div>', answer.text)
    assert told is not None
    assert words in told.group(1)


def test_an_unknown_joint_in_the_address_is_told_at_its_field(modelled):
    """As from an old link."""
    answer = modelled.get("/lines/18-ST/design-out?joint=EJ-1801")
    assert answer.status_code == 422
    assert 'id="joint-fault"' in answer.text


def test_the_joint_page_asks_its_line(client):
    """A joint on a modelled line leads to boxing in and designing out; another does not."""
    text = client.get("/joints/EJ-1201").text
    assert "/lines/12-SC/what-if?joint:EJ-1201:do=lock&amp;next_cycle=yes" in text
    assert "/lines/12-SC/design-out?joint=EJ-1201" in text


def test_looking_for_faults_keeps_nothing(modelled):
    """The faults come back marked by line; the kept text is as it was."""
    kept = modelled.get("/lines/18-ST/model.toml")
    assert kept.headers["content-disposition"] == 'attachment; filename="18-ST.toml"'
    typed = kept.text.replace('metal = "304H"', 'metal = "340H"', 1)
    at = typed.split("\n").index('metal = "340H"') + 1
    answer = modelled.post("/lines/18-ST/mechanics", data={"text": typed, "do": "look"})
    assert answer.status_code == 200
    assert f'data-line="{at}">line {at}</a>' in answer.text
    assert "nothing was kept" in answer.text
    assert modelled.get("/lines/18-ST/model.toml").text == kept.text
    good = modelled.post("/lines/18-ST/mechanics", data={"text": kept.text + "\n", "do": "look"})
    assert "No fault in the text below" in good.text


def test_a_file_takes_the_place_of_the_text_and_a_wrong_one_is_told(modelled):
    """Uploaded and kept as it is; bytes that are no text are refused at the field."""
    kept = modelled.get("/lines/18-ST/model.toml").text
    page = modelled.get("/lines/18-ST/mechanics").text
    who = {"author": "A. Engineer", "reason": "from a file", "text": kept,
           "seen": re.search(r'name="seen" value="(\w*)"', page).group(1)}  # fmt: skip
    bad = modelled.post("/lines/18-ST/mechanics", data=who, files={"file": ("m.toml", b"\xff\xfe")})
    assert bad.status_code == 422
    assert "is not UTF-8 text" in re.search(r'id="file-fault">(.*?)<', bad.text).group(1)
    new = ("# from a file\r\n" + kept.replace("\n", "\r\n")).encode()
    assert modelled.post(
        "/lines/18-ST/mechanics", data=who, files={"file": ("m.toml", new)}
    ).status_code == 303  # fmt: skip
    assert modelled.get("/lines/18-ST/model.toml").text == "# from a file\n" + kept


def test_a_text_that_someone_else_kept_meanwhile_is_not_overwritten(modelled):
    """The second of two editors is told, and keeps what was typed."""
    kept = modelled.get("/lines/18-ST/model.toml").text
    who = {"author": "B", "reason": "mine", "seen": "0" * 16, "text": "# mine\n" + kept}
    answer = modelled.post("/lines/18-ST/mechanics", data=who)
    assert answer.status_code == 422
    assert "someone kept another text" in answer.text
    assert "# mine" in answer.text
    assert modelled.get("/lines/18-ST/model.toml").text == kept
