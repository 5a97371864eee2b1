"""Which metals are known, by which names, and which table rows speak for them."""

from __future__ import annotations

import csv
import functools
import re
from importlib import resources

from takeup.errors import UnknownName
from takeup.materials.model import Alloy, Family
from takeup.units import to_si

_PROPERTIES = ("allowable", "yield", "modulus", "expansion", "conductivity", "density")


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9./]", "", text.lower().replace(",", "."))


def _celsius(text: str) -> float | None:
    return to_si(float(text), "C", "temperature") if text else None


@functools.cache
def alloys() -> tuple[Alloy, ...]:
    """Every alloy of the tables, in their order."""
    path = resources.files("takeup.materials").joinpath("data", "alloys.csv")
    return tuple(
        Alloy(
            name=row["name"],
            uns=row["uns"],
            synonyms=tuple(row["synonyms"].split(";")),
            family=Family(row["family"]),
            grade=row["grade"],
            creep_threshold=to_si(float(row["creep_C"]), "C", "temperature"),
            tensile=to_si(float(row["tensile_ksi"]), "ksi", "stress"),
            caution_temperature=_celsius(row["caution_C"]),
            caution_reason=row["caution_reason"],
            sensitises=row["sensitises"] == "yes",
            chloride_scc=row["chloride_scc"] == "yes",
            note=row["note"],
            rows={name: row[name] for name in _PROPERTIES if row[name]},
            allowable_top=_celsius(row["allowable_top_C"]),
        )
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    )


@functools.cache
def _by_name() -> dict[str, Alloy]:
    return {
        _plain(word): alloy
        for alloy in alloys()
        for word in (alloy.name, alloy.uns, alloy.grade, *alloy.synonyms)
        if not (word == alloy.grade and word != alloy.name and _shared(word))
    }


def _shared(grade: str) -> bool:
    return sum(alloy.grade == grade for alloy in alloys()) > 1


@functools.lru_cache(maxsize=1024)
def alloy(name: str) -> Alloy:
    """The alloy called ``name``: trade name, UNS number, W.-Nr. or grade, case-blind.

    A product specification before the grade is skipped (``ASTM A240 TP321``).  Raises
    :class:`takeup.errors.UnknownName` with the nearest names.
    """
    known = _by_name()
    found = known.get(_plain(name))
    if found is not None:
        return found
    words = [word for word in re.split(r"[\s_-]+", name) if word]
    hits = {known[_plain(word)].name for word in words if _plain(word) in known}
    if len(hits) == 1:
        return known[_plain(hits.pop())]
    raise UnknownName("alloy", name, [word.name for word in alloys()] + list(known))
