"""Checks of each kind of part from what it carries and its sizes."""

from __future__ import annotations

import math

from takeup.bellows.hardware import stress
from takeup.bellows.hardware.model import (
    Lugs,
    Pins,
    Plates,
    Rods,
    ShearPlanes,
)
from takeup.bellows.hardware.strength import STATICS, Bench, Mode, Sizes
from takeup.checks import Check, Outcome, Quantity
from takeup.sources import Standing

SHELL = (
    "stress of the pipe wall under the lug is not worked out here; have it checked locally with "
    "this moment and force"
)


def load(name: str, value: float, kind: str = "force", symbol: str = "") -> Quantity:
    """A load beside a check."""
    return Quantity(name=name, symbol=symbol, value=value, kind=kind)


def known(*values: float | None) -> list[float] | None:
    """The values, or ``None`` where one is unknown."""
    found = [value for value in values if value is not None]
    return found if len(found) == len(values) else None


def rod(bench: Bench, on: str, tension: float, lacking: tuple[str, ...]) -> tuple[Check, ...]:
    """Tension on the least section of a rod: thread root, or shank where that is thinner."""
    sizes = Sizes(bench.case.rods, Rods)
    rods = bench.case.rods
    diameter = rods.root_diameter if rods else None
    if diameter is not None:
        sizes("root_diameter")
    else:
        outside, pitch = sizes("diameter"), sizes("thread_pitch")
        if outside is not None and pitch is not None:
            diameter = stress.root_diameter(outside, pitch)
    if diameter is not None and rods is not None and rods.shank_diameter is not None:
        sizes("shank_diameter")
        diameter = min(diameter, rods.shank_diameter)
    return (
        bench.check(
            Rods,
            "rods.tension",
            "Rod, tension on the least section",
            mode=Mode.TENSION,
            stress=None if diameter is None else tension / stress.round_area(diameter),
            rule="tension over the root area of the thread, or of a thinner shank",
            on=on,
            sizes=sizes,
            loads=(load("Tension in the rod", tension, symbol="T"),),
            lacking=lacking,
        ),
    )


def lug(
    bench: Bench,
    on: str,
    along: float,
    across: float,
    moment: float | None,
    *,
    left: float = 1.0,
    lacking: tuple[str, ...] = (),
) -> tuple[Check, ...]:
    """Lug or end plate with gussets and welds: bending, shear, weld; what the pipe wall gets.

    ``moment`` is the resultant at the pipe wall, ``None`` where the arm is unknown; ``left``
    the share of the weld that is sound.
    """
    case = bench.case
    loads = (
        load("Force along the pipe", along),
        load("Force across the pipe", across),
        Quantity(name="Moment at the pipe wall", symbol="M", value=moment, kind="moment"),
    )

    def sizes(*names: str) -> tuple[Sizes, list[float] | None]:
        found = Sizes(case.lugs, Lugs)
        if moment is None:
            found.lack("arm from pipe wall to load line")
        return found, known(*(found(name) for name in names))

    count = case.lugs.gussets if case.lugs else None
    bending = shearing = welding = None
    if count is None:
        bend, _ = sizes("gussets")
        cut, weld = bend, bend
        plate = "plate or gussets"
    elif count > 0:
        bend, found = sizes("gusset_thickness", "gusset_length")
        cut = bend
        plate = "gussets"
        if found is not None:
            thick, long = found
            shearing = along / (count * thick * long)
            if moment is not None:
                bending = stress.plate_bending(moment, count * thick, long)
        weld, found = sizes("gusset_length", "weld_leg")
        if found is not None and moment is not None:
            long, leg = found[0] * left, found[1]
            welding = stress.weld_on_leg(
                along, across, moment, leg, 2 * count * long, 2 * count * long**2 / 6.0
            )
    else:
        bend, found = sizes("width", "thickness")
        cut = bend
        plate = "plate"
        if found is not None:
            wide, thick = found
            shearing = along / (wide * thick)
            if moment is not None:
                bending = stress.plate_bending(moment, wide, thick)
        weld, found = sizes("width", "thickness", "weld_leg")
        if found is not None and moment is not None:
            wide, thick, leg = found
            wide *= left
            welding = stress.weld_on_leg(along, across, moment, leg, 2 * wide, wide * thick)
    sound = "" if left == 1.0 else f", {left:.0%} of it sound"
    shell = Check(
        id=f"lugs.shell@{bench.label}",
        name="Pipe wall under the lug",
        outcome=Outcome.NOT_EVALUATED,
        demand=moment,
        kind="moment",
        source=STATICS,
        inputs=loads,
        because=f"{on}: {SHELL}",
    )
    return (
        bench.check(
            Lugs,
            "lugs.bending",
            f"Lug, bending of the {plate}",
            mode=Mode.BENDING,
            stress=bending,
            rule="moment at the pipe wall over the section modulus, gussets alone where there are",
            on=on,
            sizes=bend,
            loads=loads,
            lacking=lacking,
        ),
        bench.check(
            Lugs,
            "lugs.shear",
            f"Lug, shear of the {plate}",
            mode=Mode.SHEAR,
            stress=shearing,
            rule="force along the pipe over the section at the pipe wall",
            on=on,
            sizes=cut,
            loads=loads,
            lacking=lacking,
        ),
        bench.check(
            Lugs,
            "lugs.weld",
            "Lug weld to the pipe, on the leg area",
            mode=Mode.WELD,
            stress=welding,
            rule="resultant of forces and moment on the fillet welds, both sides of each gusset "
            f"or of the plate{sound}",
            on=on,
            sizes=weld,
            loads=loads,
            lacking=lacking,
        ),
        shell,
    )


def pin(
    bench: Bench,
    on: str,
    force: float,
    *,
    middle: float | None,
    middle_words: str,
    measured: float | None = None,
    lacking: tuple[str, ...] = (),
) -> tuple[Check, ...]:
    """Shear and bending of a pin; ``middle`` is the thickness it passes between the forks [m]."""
    case = bench.case
    loads = (load("Force on the pin", force, symbol="V"),)
    sizes = Sizes(case.pins, Pins)
    diameter = measured if measured is not None else sizes("diameter")
    planes = case.pins.planes if case.pins else None
    if planes is None:
        sizes.lack("single or double shear")
    shear = bending = None
    if diameter is not None and planes is not None:
        shear = stress.pin_shear(force, diameter, 2 if planes == ShearPlanes.DOUBLE else 1)
    bend = Sizes(case.pins, Pins)
    bend.missing += sizes.missing
    gap = bend("gap")
    plates = Sizes(case.plates, Plates)
    if planes == ShearPlanes.DOUBLE:
        outer = plates("fork_thickness")
        if middle is None:
            bend.missing.append(middle_words)
        if diameter is not None and middle is not None and outer is not None and gap is not None:
            bending = stress.pin_bending(
                stress.pin_moment_double(force, middle, outer, gap), diameter
            )
    elif planes == ShearPlanes.SINGLE:
        thick = plates("thickness")
        if diameter is not None and thick is not None and gap is not None:
            bending = stress.pin_bending(stress.pin_moment_single(force, thick, gap), diameter)
    bend.missing += plates.missing
    bend.used += [*sizes.used, *plates.used]
    return (
        bench.check(
            Pins,
            "pins.shear",
            f"Pin, {planes.value if planes else 'shear'}",
            mode=Mode.SHEAR,
            stress=shear,
            rule="force over the sheared sections, mean stress",
            on=on,
            sizes=sizes,
            loads=loads,
            lacking=lacking,
        ),
        bench.check(
            Pins,
            "pins.bending",
            "Pin, bending",
            mode=Mode.BENDING,
            stress=bending,
            rule="even bearing pressure in double shear; in single shear the pin held tight in "
            "one plate",
            on=on,
            sizes=bend,
            loads=loads,
            lacking=lacking,
            standing=Standing.DERIVED if planes == ShearPlanes.DOUBLE else Standing.ASSUMPTION,
        ),
    )


def plate(
    bench: Bench,
    on: str,
    force: float,
    tension: float,
    strong: float | None,
    weak: float | None,
    *,
    fork: bool,
    cracked: float = 0.0,
    pin_diameter: float | None = None,
    lacking: tuple[str, ...] = (),
    lacking_root: tuple[str, ...] = (),
) -> tuple[Check, ...]:
    """Hinge plate, fork or gimbal arm: bearing, tear-out, net section, tension and bending.

    ``force`` is the resultant on the pin, ``tension`` that along the pipe; ``strong`` and
    ``weak`` are the moments in and square to the plane of the plate where it is held (``None``:
    unknown lever).
    """
    case = bench.case
    loads = (load("Force on the pin", force, symbol="V"), load("Tension", tension, symbol="T"))
    words = "fork" if fork else "plate"

    def sizes(*names: str) -> tuple[Sizes, float | None, list[float] | None]:
        found = Sizes(case.plates, Plates)
        thick = found("fork_thickness" if fork else "thickness")
        values = known(*(found(name) for name in names))
        return found, thick if not fork or thick is None else 2.0 * thick, values

    bear, thick, _ = sizes()
    diameter = pin_diameter
    if diameter is None:
        pins = Sizes(case.pins, Pins)
        diameter = pins("diameter")
        bear.missing += pins.missing
        bear.used += pins.used
    bearing = None
    if thick is not None and diameter is not None:
        bearing = stress.bearing(force, diameter, thick)
    tear, thick, values = sizes("edge_distance", "hole_diameter")
    tearing = None
    if thick is not None and values is not None:
        tearing = stress.tear_out(force, values[0], values[1], thick)
    net, thick, values = sizes("width", "hole_diameter")
    netting = None
    if thick is not None and values is not None:
        wide, hole = values
        lost = cracked * wide
        if wide - lost > hole:
            netting = stress.cracked_section(tension, wide, hole, thick, lost)
        else:
            netting = math.inf
    root, thick, values = sizes("width")
    rooted = None
    if strong is None or weak is None:
        root.lack("pin to where the plate is held")
    elif thick is not None and values is not None:
        (wide,) = values
        rooted = tension / (wide * thick) + stress.plate_bending(strong, thick, wide)
        # two plates of a fork bend side by side, not as one thick plate
        each, count = (thick / 2.0, 2) if fork else (thick, 1)
        rooted += stress.plate_bending(weak / count, wide, each)
    crack = "" if not cracked else f"; {cracked:.0%} of the width lost from one edge"

    def check(
        id: str,
        name: str,
        mode: Mode,
        value: float | None,
        rule: str,
        found: Sizes,
        lacks: tuple[str, ...],
        standing: Standing = Standing.DERIVED,
    ) -> Check:
        return bench.check(
            Plates,
            f"plates.{id}",
            f"Hinge {words} or arm, {name}",
            mode=mode,
            stress=value,
            rule=rule,
            on=on,
            sizes=found,
            loads=loads,
            lacking=lacks,
            standing=standing,
        )

    return (
        check(
            "bearing",
            "bearing of the pin",
            Mode.BEARING,
            bearing,
            "force over pin diameter times thickness",
            bear,
            lacking,
        ),
        check(
            "tear_out",
            "tear-out behind the hole",
            Mode.SHEAR,
            tearing,
            "two planes from the edge of the hole straight to the plate end",
            tear,
            lacking,
            Standing.ASSUMPTION,
        ),
        check(
            "net_section",
            "net section beside the hole",
            Mode.TENSION,
            netting,
            f"tension over width less hole{crack}",
            net,
            lacking,
            Standing.ASSUMPTION if cracked else Standing.DERIVED,
        ),
        check(
            "root",
            "tension and bending where it is held",
            Mode.COMBINED,
            rooted,
            "tension plus bending, in its plane and sideways, from friction and loads across",
            root,
            (*lacking, *(name for name in lacking_root if name not in lacking)),
        ),
    )
