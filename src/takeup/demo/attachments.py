"""Attachments on hot pipe of the demo site, invented: a ring with its sizes, not worked out yet.

Its page works it out in a few seconds; the site is made without waiting for that.
"""

from __future__ import annotations

import msgspec

from takeup.fields import Fact
from takeup.register.entities import AttachmentModel, Hardware


def measured(ring: Hardware) -> Hardware:
    """The ring of EJ-1403 with its sizes as measured in the last outage."""
    return msgspec.structs.replace(
        ring, ring_radial=0.150, ring_axial=0.020, weld_leg=0.006, material="304H"
    )


_EJ_1403 = """\
# Stiffening ring 1403-R1 below EJ-1403, left from fit-up. Invented.
name = "1403-R1 of EJ-1403"
kind = "ring on hot pipe"
inside_diameter = "1193.6 mm"
wall = "12.7 mm"
pipe_metal = "304H"
gas = "690 C"
gas_film = 100.0
ambient = "25 C"
air_film = 8.0
emissivity = 0.7
insulation = "150 mm"
insulation_conductivity = 0.09
ring_metal = "304H"
ring_outside_diameter = "1519 mm"
ring_width = "20 mm"
fillet = "6 mm"
ring_covered = "0 mm"
pressure = "1.6 bar"
heat_up = "12 h"
cool_down = "16 h"
examined = "as welded, surface examined"
"""


def attachments() -> list[Fact]:
    """The attachments that the demo site has on record."""
    return [AttachmentModel(joint="EJ-1403", item="1403-R1", text=_EJ_1403)]
