"""Shapes, rings and hardware sizes in the register: old facts still read, questions asked."""

import datetime as dt
import json
from contextlib import closing

import pytest

from takeup.bellows.model import Basis, Convolution
from takeup.register import entities as e
from takeup.register import revisions, tables
from takeup.register.contradictions import contradictions, incomplete
from takeup.register.snapshot import Register
from takeup.register.store import Store
from takeup.units import System
from tests.register.samples import small

OLD = (
    b'{"collar_length":0.02,"convolutions":8,"convolution":"U-shaped unreinforced",'
    b'"height":0.057,"inside_diameter":1.56,"joint":"EJ-1","letter":"A","material":"alloy 625",'
    b'"pitch":0.05,"plies":2,"ply_thickness":0.0012}'
)
"""A bellows as the version before wrote it."""


def bellows(**own):
    """A bellows of the sample joint."""
    given = {
        "joint": "EJ-1", "letter": "A", "inside_diameter": 1.56, "height": 0.057,
        "pitch": 0.05, "convolutions": 8, "plies": 2, "ply_thickness": 0.0012,
    }  # fmt: skip
    return e.BellowsElement(**(given | own))


TORUS = bellows(
    convolution=Convolution.TOROIDAL,
    inside_diameter=0.87,
    mean_diameter=0.96,
    height=None,
    torus_radius=0.02,
    pitch=0.05,
    plies=1,
    ply_thickness=0.0025,
)
RINGED = bellows(
    convolution=Convolution.U_REINFORCED, ring_area=0.0003, ring_material="304", plies=1
)


def with_bellows(one, **joint):
    """The sample register with another bellows A, and fields of its joint."""
    import msgspec

    kept = [fact for fact in small() if not isinstance(fact, e.BellowsElement)]
    kept = [
        msgspec.structs.replace(fact, **joint) if isinstance(fact, e.Joint) else fact
        for fact in kept
    ]
    return Register([*kept, one])


def test_a_bellows_of_the_version_before_still_reads():
    """Fields that were not there yet are unknown, and nothing that was there is lost."""
    found = revisions.decode("bellows", OLD)

    assert isinstance(found, e.BellowsElement)
    assert found.convolution is Convolution.U_PLAIN
    assert (found.basis, found.ring_area, found.thinnest_ply) == (None, None, None)
    assert found.inside_diameter == 1.56
    assert {**json.loads(revisions.encode(found)), **json.loads(OLD)} == json.loads(
        revisions.encode(found)
    )


def test_a_fact_stored_by_the_version_before_is_not_changed_by_storing_it_again(tmp_path):
    """The same values in a body with fewer fields are no new revision."""
    import sqlalchemy as sa

    from takeup.register import schema

    url = f"sqlite:///{tmp_path / 'old.db'}"
    when = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    with closing(Store.open(url)) as store:
        store.migrate()
        with store.change(author="a", reason="r", time=when) as change:
            change.put_many([*small()[:6], bellows(collar_length=0.02, material="alloy 625")])
    engine = sa.create_engine(url)
    with engine.begin() as connection:
        connection.execute(
            sa.update(schema.head).where(schema.head.c.kind == "bellows").values(body=OLD)
        )
    engine.dispose()
    with closing(Store.open(url)) as store:
        with store.change(author="a", reason="again", time=when) as change:
            change.put_many([bellows(collar_length=0.02, material="alloy 625")])
        assert len(store.history("bellows", "EJ-1/A")) == 1
        with store.change(author="a", reason="measured", time=when) as change:
            change.put_many(
                [bellows(collar_length=0.02, material="alloy 625", thinnest_ply=0.0011)]
            )
        assert len(store.history("bellows", "EJ-1/A")) == 2


@pytest.mark.parametrize("system", list(System))
def test_rings_toroids_and_hardware_sizes_come_back_from_csv(tmp_path, system):
    """What is written in the site's units is read as it was."""
    rods = e.Hardware(
        joint="EJ-1",
        item="rods",
        kind=e.HardwareKind.TIE_ROD,
        count=4,
        diameter=0.06,
        root_diameter=0.054,
        circle_diameter=1.9,
        weld_leg=0.012,
        allowable_stress=138e6,
        allowable_source="certificate 7",
        friction=0.3,
    )
    for one in (TORUS, RINGED, bellows(basis=Basis.EN_13445, thinnest_ply=0.00101)):
        register = Register(
            [f for f in small(system) if not isinstance(f, e.BellowsElement)] + [one, rods]
        )
        folder = tmp_path / one.convolution.name / str(one.basis)
        tables.write(folder, register, system)
        again = tables.read(folder, register)

        assert again.faults == ()
        assert again.differences == ()


WRONG = {
    "torus wider than its pitch": (TORUS, {"torus_radius": 0.03}, "torus_radius"),
    "torus inside its tangent": (TORUS, {"mean_diameter": 0.86}, "mean_diameter"),
    "torus over the bore": (
        TORUS, {"inside_diameter": 0.1, "mean_diameter": 0.11, "torus_radius": 0.029,
                "pitch": 0.07}, "torus_radius",
    ),
    "thinnest ply above the gauge": (bellows(), {"thinnest_ply": 0.0024}, "thinnest_ply"),
    "collar longer than its tangent": (
        bellows(), {"tangent_length": 0.02, "collar_length": 0.03}, "collar_length",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_shape_that_cannot_be_is_a_fault_of_its_field(name):
    """Sound as it stands, and a fault that names the field once the value is wrong."""
    import msgspec

    sound, wrong, field = WRONG[name]

    assert contradictions(with_bellows(sound)) == ()
    found = contradictions(with_bellows(msgspec.structs.replace(sound, **wrong)))
    assert [fault.field for fault in found] == [field]
    assert found[0].right


QUESTIONS = {
    "torus radius": (TORUS, {"torus_radius": None}, {}, "torus_radius"),
    "ring area": (RINGED, {"ring_area": None}, {}, "ring_area"),
    "rings on a plain bellows": (bellows(), {"ring_area": 0.0003}, {}, "ring_area"),
    "face to face": (bellows(tangent_length=0.03), {}, {"face_to_face": 0.42}, "face_to_face"),
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_what_stands_out_is_a_question_and_no_fault(name):
    """A missing torus radius or a joint too short is asked about; nothing is refused."""
    import msgspec

    sound, change, joint, field = QUESTIONS[name]
    before = {(q.fact.ref, q.field) for q in incomplete(with_bellows(sound))}
    register = with_bellows(msgspec.structs.replace(sound, **change), **joint)
    after = {(q.fact.ref, q.field) for q in incomplete(register)}

    assert {place for _, place in after - before} == {field}
    assert contradictions(register) == ()


def test_questions_of_an_import_are_shown_with_it(tmp_path):
    """A toroidal bellows without torus radius imports, with the question beside it."""
    import msgspec

    open_ = msgspec.structs.replace(TORUS, torus_radius=None)
    register = with_bellows(open_)
    tables.write(tmp_path / "csv", register, System.METRIC)
    report = tables.read(tmp_path / "csv", Register([small()[0]]))

    assert report.clean
    assert any("torus radius" in note for note in report.notes)
