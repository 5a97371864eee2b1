"""Theories as the desk makes them, written by hand for joints of the demo site."""

from takeup.assess.theory import (
    Bundle,
    DiagnosisSeen,
    Explained,
    JointTheory,
    Load,
    Move,
    ReadingSeen,
    Suspicion,
    Theory,
)
from tests.assess.demo_site import bare_cases, change

COLD, HOT = "installed", "on stream"


def move(axial, *, lateral=(0.0, 0.0), angular=(0.0, 0.0), bellows="-", state=HOT):
    """Movement from cold to a state."""
    return Move(state=state, bellows=bellows, axial=axial, lateral=lateral, angular=angular)


def theory(case, *moves, **more):
    """A solved model of the line of a case on which the case's joint makes ``moves``."""
    given = {
        "pressure": case.line.operating_pressure,
        "temperature": case.line.shell_temperature,
        "joints": (JointTheory(tag=case.joint.tag, moves=moves),),
        "residual": 1e-12,
        "balance": 1e-12,
    } | more
    return Theory(line=case.line.tag, key="k", revision=3, cold=COLD, hot=HOT, **given)


def modelled(tag, *moves, **more):
    """A demo joint on a modelled line."""
    case = bare_cases()[tag]
    return change(case, theory=theory(case, *moves, **more))


def fault(place, what="seized", words="seized at its cold position", support=True):
    """One fault."""
    return Suspicion(place=place, what=what, words=f"{place} {words}", support=support)


def pointer(place, measured=0.0, sound=0.02):
    """A reading at a place: 20 mm where the line is sound, good to 2 mm."""
    return ReadingSeen(
        words=f"{place}: travel of its pointer", place=place, kind="movement",
        measured=measured, error=2e-3, sound=sound,
    )  # fmt: skip


PLACES = ("11-S1", "11-V1", "EJ-1101", "EJ-1103")


def diagnosis(*bundles, chance=0.5, next="position indicator at 11-V1", read=PLACES):
    """A diagnosis of bundles of (faults, posterior), with readings off at ``read``."""
    made = []
    for explained in bundles:
        told = tuple(
            Explained(faults=tuple(f), posterior=p, predicted=(0.0,) * len(read))
            for f, p in explained
        )
        split = "support load at 11-S1, hot" if len(told) > 1 else ""
        made.append(
            Bundle(explanations=told, posterior=sum(e.posterior for e in told), split=split)
        )
    made.sort(key=lambda bundle: -bundle.posterior)
    return DiagnosisSeen(
        readings=tuple(map(pointer, read)), bundles=tuple(made), chance=chance, next=next
    )


def load(name, force, state=HOT):
    """A load along the line."""
    return Load(name=name, kind="anchor", state=state, force=(force, 0.0, 0.0))
