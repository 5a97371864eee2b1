"""From marks and readings on record to what may be wrong: signs, what is left out, what is asked."""

import datetime as dt
from pathlib import Path

import msgspec
import numpy as np
import pytest

from takeup.desk import diagnosis, lines
from takeup.desk.diagnosis_evidence import campaigns, gather
from takeup.desk.diagnosis_file import read as read_file
from takeup.desk.diagnosis_words import sides, words
from takeup.desk.site import create
from takeup.errors import BadFile, Cancelled, Contradiction, Refused
from takeup.evidence import facts as f
from takeup.line import elements
from takeup.line.diagnosis import Kind, Options, Reading, faults_of, model
from takeup.line.diagnosis.predict import exact
from takeup.line.text import read
from takeup.register import entities as e
from takeup.units import System

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXT = (EXAMPLES / "line.toml").read_text(encoding="utf-8")
LINE = read(TEXT)
TAG, JOINT = "L-101", "EJ-101"
HOT, COLD, OLD = "hot", "cold", "old hot"
DATES = {HOT: dt.date(2026, 10, 6), COLD: dt.date(2026, 4, 21), OLD: dt.date(2023, 10, 2)}
SPRING, GUIDE = "spring at knee.out", "guide at joint near"
DIAMETER = 0.26


def marks(moved, *, span=0.9, seen=None, hot=HOT, uncertainty=0.0014, clocks=(12, 3, 6, 9)):
    """Lengths of a joint, cold and hot; ``moved`` by clock [m]."""
    made = []
    for clock in clocks:
        for visit, state, length in (
            (COLD, f.LineState.COLD, span),
            (hot, f.LineState.HOT, span + moved[clock]),
        ):
            made.append(
                f.MarkReading(
                    visit=visit, joint=JOINT, quantity=f.MarkQuantity.FACE, clock=clock,
                    state=state, length=length, uncertainty=uncertainty, seen=seen,
                )
            )  # fmt: skip
    return made


def even(value):
    return dict.fromkeys((12, 3, 6, 9), value)


def one(quantity, place, state, visit=None, *, way=f.Way.NONE, **values):
    """A line reading."""
    return f.LineReading(
        visit=visit or state.value, line=TAG, place=place, quantity=quantity, way=way, state=state,
        **values,
    )  # fmt: skip


BASE = [
    e.ProcessUnit(tag="U", name="Unit"),
    e.Line(tag=TAG, unit="U", name="Header", service=e.ServiceClass.HOT_WALL_FLUE),
    e.Joint(tag=JOINT, line=TAG, type=e.JointType.HINGED, wall=e.Wall.HOT),
    e.BellowsElement(joint=JOINT, letter="A", inside_diameter=DIAMETER),
    e.LineModel(line=TAG, text=TEXT),
    *(
        f.Visit(
            id=name,
            unit="U",
            date=date,
            inspector="A. Walker",
            kind=f.VisitKind.COLD if name == COLD else f.VisitKind.HOT,
        )
        for name, date in DATES.items()
    ),
]


@pytest.fixture
def site(tmp_path):
    """One line with its model, no readings yet."""
    with create(tmp_path / "site", e.Plant(id="s", name="S"), author="A") as made:
        with made.change("A", "begun") as change:
            change.put_many(BASE)
        yield made


def put(site, *facts):
    with site.change("A", "read") as change:
        change.put_many(facts)


def gathered(*facts):
    """What the register with ``facts`` gives to weigh, without a store."""
    from takeup.register.snapshot import Register

    register = Register([e.Plant(id="s", name="S"), *BASE, *facts])
    return gather(register, LINE, sides(LINE), TAG, diagnosis.strain(LINE))


def weighed(*facts):
    """What the register with ``facts`` says, single faults only, without a store."""
    given = diagnosis.Inputs(line=LINE, sides=sides(LINE), gathered=gathered(*facts))
    return diagnosis.weigh(TAG, given, options=Options(pairs=False))


def taken(found, kind, part=""):
    return next(u for u in found.used if u.reading.kind == kind and u.reading.part == part)


def test_marks_become_length_and_opening_with_one_standard_deviation():
    """Mean of four clocks; 95 % of one length over the four, two states, by 1.96."""
    found = gathered(*marks({12: 2e-3, 6: 0.0, 3: 3e-3, 9: -1e-3}, seen=f.ClockSeen.ALONG))
    axial = taken(found, Kind.JOINT, "axial")
    assert axial.reading.value == pytest.approx(1e-3)
    assert axial.reading.error == pytest.approx(2**0.5 * 0.0014 / 2 / 1.96)
    assert axial.hot == DATES[HOT] and axial.cold == DATES[COLD]
    assert "as entered" in axial.uncertainty


@pytest.mark.parametrize(("seen", "sign"), [(f.ClockSeen.ALONG, 1), (f.ClockSeen.AGAINST, -1)])
def test_the_sign_of_a_turn_follows_where_the_clock_was_seen(seen, sign):
    """Pipe runs north, so 3 o'clock seen along it is east; a turn about up lengthens the east."""
    found = gathered(*marks({12: 1e-3, 6: -1e-3, 3: 2e-3, 9: -2e-3}, seen=seen))
    north = np.array([[0.0, 1.0, 0.0]])
    _, first, second = elements.frames(north)[0]
    about_up = sign * 4e-3 / DIAMETER  # end turned about up moves its east side by +y
    about_east = -2e-3 / DIAMETER  # top longer: turned about west
    turn = np.array([about_east, 0.0, about_up])
    for part, axis in (("angular 1", first), ("angular 2", second)):
        assert taken(found, Kind.JOINT, part).reading.value == pytest.approx(turn @ axis)


def test_without_the_way_the_clock_was_seen_its_sideways_part_is_left_out_not_guessed():
    """12 and 6 stand for themselves; 3 and 9 are asked about."""
    found = gathered(*marks({12: 1e-3, 6: -1e-3, 3: 2e-3, 9: -2e-3}))
    assert {u.reading.part for u in found.used} == {"axial", "angular 1"}
    (left,) = [one for one in found.left_out if "3 and 9" in one.what]
    assert "along the flow or against it" in left.why


def test_what_is_no_movement_is_left_out_with_why():
    """One state, one clock, clocks that contradict each other, a joint replaced since."""
    hot_only = [m for m in marks(even(1e-3)) if m.state == f.LineState.HOT]
    cases = [
        (hot_only, "read hot only"),
        (marks(even(1e-3), clocks=(12,)), "tilt may hide"),
        (marks({12: 9e-3, 6: 9e-3, 3: 0.0, 9: 0.0}), "read the marks again"),
        (
            [
                *marks(even(1e-3)),
                e.LifeEvent(joint=JOINT, date=dt.date(2026, 5, 1), kind=e.EventKind.REPLACED),
            ],
            "other marks",
        ),
    ]
    for facts, why in cases:
        found = gathered(*facts)
        assert not [u for u in found.used if u.reading.part == "axial"], why
        assert any(why in one.why for one in found.left_out), why


def test_pipe_between_marks_and_ends_is_taken_off():
    """Marks a metre further apart than the ends: the growth of that metre is not the joint's."""
    near = gathered(*marks(even(2e-3)))
    far = gathered(*marks(even(2e-3), span=1.9))
    strain = diagnosis.strain(LINE)
    assert strain == pytest.approx(9.5e-3, rel=0.05)
    change = taken(near, Kind.JOINT, "axial").reading.value
    assert taken(far, Kind.JOINT, "axial").reading.value == pytest.approx(change - strain)
    assert "taken off" in taken(far, Kind.JOINT, "axial").note


def test_marks_of_both_bellows_make_the_movement_of_the_joint():
    """A and B add up, with the growth of the spool between them; one alone is left out."""
    from takeup.register.snapshot import Register

    old = next(p for p in LINE.pieces if getattr(p, "tag", "") == JOINT)
    two = msgspec.structs.replace(old, bellows=old.bellows * 2, over_both=0.85)
    line = msgspec.structs.replace(LINE, pieces=tuple(two if p is old else p for p in LINE.pieces))
    letters = {
        letter: [msgspec.structs.replace(m, bellows=letter) for m in marks(moved, span=0.45)]
        for letter, moved in (("A", {12: 2e-3, 6: 0.0, 3: 1e-3, 9: 1e-3}), ("B", even(-3e-3)))
    }

    def found(*facts):
        register = Register([e.Plant(id="s", name="S"), *BASE, *facts])
        return gather(register, line, sides(line), TAG, 9.5e-3)

    both = found(*letters["A"], *letters["B"])
    assert taken(both, Kind.JOINT, "axial").reading.value == pytest.approx(-2e-3)
    assert abs(taken(both, Kind.JOINT, "angular 1").reading.value) == pytest.approx(2e-3 / DIAMETER)
    one_alone = found(*letters["A"])
    assert not one_alone.used
    assert "one bellows of two" in one_alone.left_out[0].why
    shorter = [msgspec.structs.replace(m, length=m.length - 0.1) for m in letters["B"]]
    grown = found(*letters["A"], *shorter)
    assert taken(grown, Kind.JOINT, "axial").reading.value == pytest.approx(-2e-3 + 0.1 * 9.5e-3)


def test_a_lone_clock_beside_a_pair_does_not_tilt_the_length():
    """12, 6 and 3 o'clock: the mean of 12 and 6 only."""
    found = gathered(*marks({12: 1e-3, 6: 3e-3, 3: 9e-3}, clocks=(12, 6, 3)))
    assert taken(found, Kind.JOINT, "axial").reading.value == pytest.approx(2e-3)


def test_a_missing_uncertainty_is_the_usual_one_and_said_so():
    """A tape unless the instrument is named."""
    tape = gathered(*marks(even(1e-3), uncertainty=None))
    assert "not entered" in taken(tape, Kind.JOINT, "axial").uncertainty
    assert "tape" in taken(tape, Kind.JOINT, "axial").uncertainty
    calipers = [msgspec.structs.replace(m, instrument="trammel", uncertainty=None)
                for m in marks(even(1e-3))]  # fmt: skip
    fine = gathered(*calipers)
    assert taken(fine, Kind.JOINT, "axial").reading.error < taken(
        tape, Kind.JOINT, "axial"
    ).reading.error / 3  # fmt: skip


def test_readings_of_another_campaign_are_left_out_and_dated():
    """A pointer read hot three years before the marks says nothing about today's line."""
    pointer = f.LineQuantity.POINTER
    found = gathered(
        *marks(even(1e-3)),
        one(pointer, SPRING, f.LineState.HOT, OLD, length=0.02),
        one(pointer, SPRING, f.LineState.COLD, length=0.01),
    )
    assert all(u.reading.kind == Kind.JOINT for u in found.used)
    (left,) = [one for one in found.left_out if SPRING in one.what]
    assert "2023-10-02" in left.why and "2026-10-06" in left.why


def test_hot_and_cold_far_apart_are_pointed_out():
    """What changed in between is in the movement."""
    old = [msgspec.structs.replace(u, cold=dt.date(2022, 4, 1)) for u in
           gathered(*marks(even(1e-3))).used]  # fmt: skip
    found = campaigns(old, ())
    assert len(found.used) == len(old)
    assert "4.5 years apart" in found.cautions[0]


def test_line_readings_are_placed_on_the_model():
    """Pointer hot minus cold, load as read, room from both sides by half their difference."""
    hot, cold = f.LineState.HOT, f.LineState.COLD
    found = gathered(
        one(f.LineQuantity.POINTER, "SPRING at knee.out", hot, length=0.019),
        one(f.LineQuantity.POINTER, SPRING, cold, length=0.012, uncertainty=0.001),
        one(f.LineQuantity.LOAD, SPRING, hot, load=7500.0),
        one(f.LineQuantity.ROOM, GUIDE, hot, way=f.Way.WEST, length=0.0005),
        one(f.LineQuantity.ROOM, GUIDE, hot, way=f.Way.EAST, length=0.0045),
    )
    assert not found.left_out
    assert taken(found, Kind.INDICATOR).reading.value == pytest.approx(0.007)
    load = taken(found, Kind.LOAD).reading
    assert (load.value, load.hot) == (7500.0, True)
    assert load.error == pytest.approx(0.2 * 7500 / 1.96)
    gap = next(u for u in found.used if u.reading.kind == Kind.GAP)
    assert gap.words.endswith("room on the west side, hot")
    assert gap.reading.value == pytest.approx(0.002 + (0.0005 - 0.0045) / 2)


def test_an_unknown_place_or_side_is_named_with_what_would_be_right():
    """Nearest names; the sides that a guide holds; the sides of a joint."""
    hot = f.LineState.HOT
    found = gathered(
        one(f.LineQuantity.LOAD, "spring at knee out", hot, load=1.0),
        one(f.LineQuantity.ROOM, GUIDE, hot, way=f.Way.NORTH, length=0.0),
        one(f.LineQuantity.OPENING, JOINT, hot, way=f.Way.NORTH, angle=0.01),
        one(f.LineQuantity.OPENING, JOINT, f.LineState.COLD, way=f.Way.NORTH, angle=0.0),
        one(f.LineQuantity.POINTER, SPRING, hot, length=0.01),
    )
    why = " | ".join(one.why for one in found.left_out)
    assert not found.used
    assert "did you mean spring at knee.out" in why
    assert "holds towards west, up" in why
    assert "not across this joint; its sides are west and up" in why
    assert "read hot only" in why


def test_a_place_on_the_drawing_is_weighed_against_the_sound_line():
    """A station that stands where the sound line carries it is off by nothing."""
    reading = Reading(kind=Kind.POSITION, place="tee", part="up", hot=True)
    rise = float(model(LINE, (reading,)).sound[0].values[0])
    assert abs(rise) > 1e-3
    found = weighed(
        *marks(even(4.8e-3)),
        one(f.LineQuantity.PLACE, "tee", f.LineState.HOT, way=f.Way.DOWN, length=-rise),
    )
    place = next(u for u in found.used if u.reading.kind == Kind.POSITION)
    assert place.reading.value == pytest.approx(0.0, abs=1e-9)


def test_what_was_seen_but_not_measured_is_listed():
    """A grade and words do not say how far and which way."""
    seen = f.Observation(visit=HOT, joint=JOINT, item="HS2", place=GUIDE, grade=3, text="rusted in")
    found = gathered(seen)
    assert not found.used
    assert "rusted in" in found.left_out[0].what
    assert "not measured" in found.left_out[0].why


def test_sizes_that_heat_cannot_make_are_asked_and_not_weighed():
    """Inches written as metres; a load in newtons taken for kilonewtons."""
    hot, cold = f.LineState.HOT, f.LineState.COLD
    found = weighed(
        *marks(even(4.8e-3)),
        one(f.LineQuantity.POINTER, SPRING, hot, length=19.0),
        one(f.LineQuantity.POINTER, SPRING, cold, length=12.0),
        one(f.LineQuantity.LOAD, SPRING, hot, load=7.5e6),
    )
    assert {u.reading.kind for u in found.used} == {Kind.JOINT}
    assert len(found.asked) == 2
    assert all("is the unit right" in words for words in found.asked)
    assert len([one for one in found.left_out if "Not weighed" in one.why]) == 2


def test_the_size_of_theory_with_the_other_sign_is_asked_and_weighed():
    """Cold minus hot looks like that; it may also be true."""
    found = weighed(*marks(even(-4.8e-3)))
    assert any("other sign" in words and "hot minus cold" in words for words in found.asked)
    assert taken(found, Kind.JOINT, "axial").reading.value < 0.0


def simulated(name):
    """Facts as the line with one fault would give them: all marks, the pointer, its load."""
    fault = next(one for one in faults_of(LINE) if one.name == name)
    asked = (
        *(Reading(kind=Kind.JOINT, place=JOINT, part=part)
          for part in ("axial", "angular 1", "angular 2")),
        Reading(kind=Kind.INDICATOR, place=SPRING),
        Reading(kind=Kind.LOAD, place=SPRING),
    )  # fmt: skip
    axial, first, second, moved, load = exact(model(LINE, asked), [fault])
    _, one_axis, two_axis = elements.frames(np.array([[0.0, 1.0, 0.0]]))[0]
    turn = first * one_axis + second * two_axis
    away = {12: (0, 0, 1), 6: (0, 0, -1), 3: (1, 0, 0), 9: (-1, 0, 0)}
    lengths = {
        clock: float(axial) + float(np.cross(turn, np.array(r) * DIAMETER / 2)[1])
        for clock, r in away.items()
    }
    hot, cold = f.LineState.HOT, f.LineState.COLD
    return [
        *marks(lengths, seen=f.ClockSeen.ALONG),
        one(f.LineQuantity.POINTER, SPRING, hot, length=0.05 + float(moved)),
        one(f.LineQuantity.POINTER, SPRING, cold, length=0.05),
        one(f.LineQuantity.LOAD, SPRING, hot, load=float(load)),
    ]


def test_a_fault_is_found_through_the_register_and_told_in_short(site):
    """Marks by clock, pointer and load of a lost guide: the guide leads, in trade words."""
    put(site, *simulated(f"{GUIDE} holds nothing"))
    found = diagnosis.diagnose(site, TAG)
    short = diagnosis.summary(found)
    assert short is not None
    assert short.places == (GUIDE,)
    assert short.leading.startswith(f"{GUIDE} holds nothing")
    assert short.probability > 0.8
    assert short.fits and not short.sound_leads
    assert diagnosis.by_place(found)[0][0] == GUIDE
    assert short.readings == 5
    assert "somebody looks" in short.cautions[0]
    (place, seen), *_ = diagnosis.looks(found, found.diagnosis.groups[0].explanations)
    assert place == GUIDE and "gone or loose" in seen


def test_no_one_of_several_is_made_the_culprit():
    """What all explanations of a group have leads; else the place; else only their number."""
    from takeup.line.diagnosis import Explanation, Group

    every = faults_of(LINE)

    def fault(place, what):
        return next(one for one in every if (one.place, one.what) == (place, what))

    lost, slip = fault(GUIDE, "lost"), fault("anchor at cooler", "slip")
    stop, seized = fault(SPRING, "upper stop"), fault(SPRING, "seized")
    found = diagnosis.Diagnosed(line=TAG, sides=sides(LINE))

    def told(*sets, unnamed=0.0):
        members = tuple(
            Explanation(faults=faults, prior=0.1, posterior=0.9 / len(sets), predicted=(),
                        solved=True)
            for faults in sets
        )  # fmt: skip
        group = Group(explanations=members, posterior=0.9 + unnamed, split=(),
                      unnamed=int(unnamed > 0), unnamed_posterior=unnamed)  # fmt: skip
        return diagnosis.group_words(found, group)

    assert told((lost,)) == f"{GUIDE} holds nothing"
    assert told((lost,), (lost, slip)) == f"{GUIDE} holds nothing, alone or with more"
    assert told((lost, stop), (lost, slip)) == f"{GUIDE} holds nothing, with more"
    assert told((stop,), (seized,)).startswith(f"something wrong at {SPRING}: on its upper stop")
    assert told((lost,), (slip,)).startswith(
        "one of 2 explanations that look the same (likeliest, 45\u00a0%: guide"
    )
    assert told((lost,), (lost, slip), unnamed=0.5).startswith(
        "one of 3 explanations that look the same"
    )
    assert told((lost,), ()).startswith("a sound line")


def test_a_sound_line_leads_where_the_marks_agree():
    """No support is accused, and what cannot be told apart is in the same group."""
    asked = Reading(kind=Kind.JOINT, place=JOINT, part="axial")
    found = weighed(*marks(even(float(model(LINE, (asked,)).sound[0].values[0]))))
    short = diagnosis.summary(found)
    assert short is not None and short.sound_leads and short.fits
    assert short.members[0].startswith("everything sound")
    assert len(short.members) > 3
    assert short.next_reading


def test_where_nothing_fits_the_short_words_say_so_first():
    """A joint forty millimetres longer is no single fault and no pair."""
    short = diagnosis.summary(weighed(*marks(even(0.04))))
    assert short is not None and not short.fits
    assert short.leading.startswith("nothing fits")


def test_a_kept_diagnosis_is_stale_once_another_reading_is_kept(site):
    """What it rests on decides, by its hash."""
    put(site, *marks(even(4.8e-3)))
    assert diagnosis.latest(site, TAG).found is None
    diagnosis.run(site, TAG)
    kept = diagnosis.latest(site, TAG)
    assert kept.fresh and kept.found is not None
    assert diagnosis.current(site, TAG) == kept.found

    diagnosis.add(
        site, TAG, [one(f.LineQuantity.LOAD, SPRING, f.LineState.HOT, load=8100.0)], "A", "read"
    )
    assert not diagnosis.latest(site, TAG).fresh
    assert len(diagnosis.current(site, TAG).used) == len(kept.found.used) + 1
    assert diagnosis.latest(site, TAG).fresh


def test_a_reading_that_belongs_nowhere_is_refused_and_nothing_is_kept(site):
    """Unknown support, size beyond all heat unless sure, no author."""
    before = site.store.last_change()
    hot = f.LineState.HOT
    with pytest.raises(Refused, match="did you mean"):
        diagnosis.add(site, TAG, [one(f.LineQuantity.LOAD, "spring at knee", hot, load=1.0)], "A",
                      "r")  # fmt: skip
    wide = one(f.LineQuantity.PLACE, "tee", hot, way=f.Way.UP, length=19.0)
    with pytest.raises(Refused, match="is the unit right"):
        diagnosis.add(site, TAG, [wide], "A", "r")
    with pytest.raises(Refused, match="load is not on record"):
        diagnosis.add(site, TAG, [one(f.LineQuantity.LOAD, SPRING, hot, length=0.1)], "A", "r")
    with pytest.raises(Refused, match="author"):
        diagnosis.add(site, TAG, [one(f.LineQuantity.LOAD, SPRING, hot, load=1.0)], " ", "r")
    assert site.store.last_change() == before
    assert diagnosis.add(site, TAG, [wide], "A", "r", sure=True) == 1


def test_what_stands_in_the_way_is_told_not_raised(site):
    """No reading, a text with faults, no model; nothing is kept."""
    assert "no reading" in diagnosis.diagnose(site, TAG).faults[0]
    lines.keep(site, TAG, TEXT.replace('station = "rest one"', 'station = "rest on"'), "A", "r")
    assert any("rest on" in words for words in diagnosis.diagnose(site, TAG).faults)
    put(site, e.Line(tag="L-2", unit="U", name="Two", service=e.ServiceClass.STEAM))
    assert "no model" in diagnosis.run(site, "L-2").faults[0]
    assert diagnosis.latest(site, "L-2").found is None


def test_weighing_stops_when_asked_and_keeps_nothing(site):
    """The fault of the progress comes through, whatever else is caught."""
    put(site, *marks(even(4.8e-3)))

    def stop(share, text):
        if share >= 0.1:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        diagnosis.run(site, TAG, progress=stop)
    assert diagnosis.latest(site, TAG).found is None


def test_the_example_file_stands_before_the_register(site):
    """Its readings replace those on record, which are listed."""
    put(site, *marks(even(4.8e-3)))
    given = read_file("mine.toml", (EXAMPLES / "line-readings.toml").read_bytes())
    found = diagnosis.diagnose(site, TAG, extra=given, file="mine.toml")
    axial = taken(found, Kind.JOINT, "axial")
    assert axial.origin == "file mine.toml"
    assert axial.reading.value == pytest.approx(5.1e-3)
    assert any("gives it anew" in one.why for one in found.left_out)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[pointer]]\nsupport='spring'\ncold=0\nhot=0", r"\$\.pointer\[0\]\.support .*knee\.out"),
        ("[[load]]\nsupport='x'\nstate='hot'\nload='7 mm'", r"\$\.load\[0\]\.load .*kN"),
        ("[[load]]\nsupport='spring at knee.out'\nstate='warm'\nload=1", r"\$\.load\[0\]\.state"),
        ("[[joint]]\ntag='EJ-101'\nopens={north='1 deg'}", r"\$\.joint\[0\]\.opens .*west and up"),
        ("[[joint]]\ntag='EJ-101'\noffset={left='1 mm'}", r"\$\.joint\[0\]\.offset .*east, north"),
        ("[[joint]]\ntag='EJ-101'\naxial='5'", r"\$\.joint\[0\]\.axial .*without a unit"),
        ("[[jiont]]\ntag='EJ-101'", r"\$\.jiont is not known here; did you mean joint"),
        ("[[place]]\nstation='tee'\nway='-'\nstate='hot'\noff=0", r"\$\.place\[0\]\.way .*east"),
        ("[[joint]]\ntag='EJ-101'\n", r"no reading in it"),
        ("hot = 2026-01-01", r"no reading in it"),
        (
            "[[joint]]\ntag='EJ-101'\naxial=0\n[[joint]]\ntag='EJ-101'\naxial=0",
            "a second time",
        ),
    ],
)
def test_a_fault_of_a_file_is_named_by_its_key_path(text, told):
    """Place, unit, state, side, name, nothing in it, twice the same."""
    with pytest.raises(BadFile, match=told):
        diagnosis.inputs_of(LINE, read_file("r.toml", text.encode()), "r.toml")


@pytest.mark.parametrize(
    ("direction", "told"),
    [
        ((0.8, 0.6, 0.0), "north-east"),
        ((0.0, -1.0, 0.1), "south"),
        ((0.0, 0.3, 0.95), "up"),
        ((0.6, 0.0, 0.8), "bearing 90 deg, rising 53 deg"),
    ],
)
def test_a_direction_goes_by_the_nearest_way_or_by_its_bearing(direction, told):
    """Nine tenths of a circle have a name; a steep skew has none."""
    from takeup.desk.diagnosis_words import way_words

    assert way_words(direction) == told


@pytest.mark.parametrize(
    ("along", "twelve", "three"),
    [
        ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
        ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
        ((0, 0, -1), (0, 1, 0), (1, 0, 0)),
        ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
    ],
)
def test_the_clock_stands_as_one_sees_it_who_looks_along_the_pipe(along, twelve, three):
    """Level pipe: 12 on top, 3 on the right hand; upright: 12 is north, looking down 3 is east."""
    from takeup.desk.diagnosis_words import Sides, clock

    axes = elements.frames(np.array([along], dtype=float))[0]
    found = Sides(joints={"J": tuple(map(tuple, axes))}, guides={}, at={}, kinds={})
    assert np.allclose(clock(found, "J"), (twelve, three))


def test_a_file_says_what_it_left_open():
    """Dates that are not given are a caution, an uncertainty is the usual one with its source."""
    bare = read_file("r.toml", b"[[joint]]\ntag='EJ-101'\naxial='5 mm'")
    given = diagnosis.inputs_of(LINE, bare, "r.toml").gathered
    assert "does not date" in given.cautions[0]
    assert given.used[0].uncertainty.replace("\u00a0", " ") == (
        "not given: 1.4 mm (95 %), usual for a tape (common practice)"
    )
    example = read_file("e.toml", (EXAMPLES / "line-readings.toml").read_bytes())
    full = diagnosis.inputs_of(LINE, example, "e.toml").gathered
    assert full.cautions == ()
    assert full.used[0].uncertainty.endswith("as given")
    assert "engineering assumption" in full.used[-1].uncertainty


def test_a_file_of_another_line_is_refused():
    """Its line is checked where it says one."""
    given = read_file("r.toml", b"line='L-2'\n[[joint]]\ntag='EJ-101'\naxial=0")
    with pytest.raises(Contradiction, match=r"\$\.line is 'L-2'"):
        diagnosis.inputs_of(LINE, given, "r.toml")


def test_readings_are_told_by_way_and_in_the_units_of_the_site():
    """No axis numbers; inches where the site reads inches."""
    found = sides(LINE)
    told = {
        part: words(Reading(kind=Kind.JOINT, place=JOINT, part=part), found)
        for part in ("axial", "lateral 1", "lateral 2", "angular 1", "angular 2")
    }
    assert told == {
        "axial": "EJ-101: length between its ends",
        "lateral 1": "EJ-101: offset to the west",
        "lateral 2": "EJ-101: offset upwards",
        "angular 1": "EJ-101: opening at the top",
        "angular 2": "EJ-101: opening on the east side",
    }
    given = read_file("r.toml", b"[[joint]]\ntag='EJ-101'\naxial='20 ft'")
    (asked,) = diagnosis.weigh(TAG, diagnosis.inputs_of(LINE, given, "r.toml", System.US)).asked
    assert "240.00\u00a0in" in asked and "mm" not in asked
