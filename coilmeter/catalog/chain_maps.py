"""Reference files to chains: what ships, then what the user's own files change and add."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from coilmeter.catalog import mistake_of, read_toml, reference_folder
from coilmeter.catalog.chain_checks import Checker, Place
from coilmeter.catalog.chain_entries import ChainFile
from coilmeter.errors import MistakesError
from coilmeter.values.chains import (
    COMPLAINT,
    ChainMap,
    ChainTest,
    HowTo,
    Link,
    Signal,
)

SHIPPED_CHAINS: Final = ("chains.toml", "chain_tests.toml")
DETECTS: Final = 0.97
MAY: Final = 0.5
FALSE_ALARM: Final = 0.02
"""Chances where an entry says nothing else (own)."""

_COMPLAINT_DETECTS: Final = 0.995
_OWN: Final = "the user's own"


def load_chains(user_files: Iterable[Path] = ()) -> dict[str, ChainMap]:
    """Read the shipped chains and then the user's, later values in place of earlier ones.

    Parameters
    ----------
    user_files
        Reference files of the user's own.

    Returns
    -------
    dict
        Maps by the name of their fault: ``playback``, ``record``, ``erase``, and others that
        a file adds.

    Raises
    ------
    MistakesError
        With every mistake of one file, or of all of them together where they do not fit.
    InputError
        When a file cannot be read.

    """
    whole: dict[str, Any] = {}
    origins: dict[Place, Path] = {}
    for path in [*(reference_folder() / name for name in SHIPPED_CHAINS), *user_files]:
        try:
            given = ChainFile.model_validate(read_toml(path)).given()
        except ValidationError as error:
            faults = [mistake_of(path, fault) for fault in error.errors()]
            raise MistakesError(faults, undone="nothing was looked for") from error
        _merge(whole, given, path, (), origins)
        _own_up(given, whole, path)
    mistakes = Checker(whole, origins).mistakes()
    if mistakes:
        raise MistakesError(mistakes, undone="nothing was looked for")
    return {name: _map(name, whole) for name in whole["maps"]}


def _merge(
    whole: dict[str, Any],
    given: Mapping[str, Any],
    path: Path,
    place: Place,
    origins: dict[Place, Path],
) -> None:
    """Put tables into tables; all else takes the place of what was there."""
    for name, value in given.items():
        here = (*place, name)
        origins[here] = path
        if isinstance(value, dict):
            _merge(whole.setdefault(name, {}), value, path, here, origins)
        else:
            whole[name] = value


def _own_up(given: Mapping[str, Any], whole: Mapping[str, Any], path: Path) -> None:
    """Have entries that a file of the user's changed say so, where it gives no basis itself."""
    if path.name in SHIPPED_CHAINS and path.parent == reference_folder():
        return
    pairs = [(given.get("tests", {}), whole["tests"])]
    pairs += [(links, whole["links"][chain]) for chain, links in given.get("links", {}).items()]
    for changed, entries in pairs:
        for name, entry in changed.items():
            if "basis" not in entry and "basis" in entries[name]:
                entries[name]["basis"] = f"{_OWN} in part; else {entries[name]['basis']}"


def _map(name: str, whole: Mapping[str, Any]) -> ChainMap:
    entry = whole["maps"][name]
    links = tuple(
        Link(
            name=link,
            title=each["title"],
            station=each["station"],
            weight=each["weight"],
            common=each.get("common", 0.0),
            repair=each["repair"],
            repair_minutes=each["repair_minutes"],
            basis=each.get("basis", _OWN),
        )
        for link, each in whole["links"][name].items()
        if each["weight"] > 0
    )
    known = {link.name for link in links}
    tests = {
        test: _test(test, each, each["sees"][name], known, whole["cautions"])
        for test, each in whole["tests"].items()
        if name in each.get("sees", {})
    }
    used = [
        test
        for test in tests.values()
        if whole["tests"][test.name].get("use", True) and test.signals
    ]
    return ChainMap(
        name=name,
        title=entry["title"],
        verb=entry["verb"],
        links=links,
        tests=tuple(used),
        complaint=_complaint(tests[entry["complaint"]], entry),
        same_as_complaint=entry["complaint"],
        several=entry["several"],
        needs=whole["needs"],
    )


def _test(
    name: str,
    entry: Mapping[str, Any],
    sees: Mapping[str, Any],
    known: set[str],
    cautions: Mapping[str, str],
) -> ChainTest:
    told = {**entry, **sees}
    return ChainTest(
        name=name,
        letter=entry.get("letter", ""),
        title=entry["title"],
        question=told["question"],
        minutes=entry["minutes"],
        minutes_loose=entry.get("minutes_loose", entry["minutes"]),
        needs=tuple(told.get("needs", ())),
        signals=tuple(_signals(entry, sees, known)),
        howto=HowTo(
            connect=told["connect"],
            expect=told["expect"],
            passed=told["passed"],
            failed=told["failed"],
            levels=tuple(told.get("levels", ())),
            cautions=tuple(cautions[each] for each in told.get("cautions", ())),
        ),
        basis=entry.get("basis", _OWN),
    )


def _signals(
    entry: Mapping[str, Any], sees: Mapping[str, Any], known: set[str]
) -> Iterator[Signal]:
    """Make one signal, or two for a swap; a link that only may show follows the head.

    There is none where the links that are left give the test nothing to see.
    """
    swap = "follows" in sees
    sides = [("follows", "may"), ("stays", "")] if swap else [("detects", "may")]
    seen = [_chances(entry, sees, sure, may, known) for sure, may in sides]
    if all(seen):
        for (sure, _), chances in zip(sides, seen, strict=True):
            yield Signal(
                chances=chances,
                certain=frozenset(sees.get(sure, ())) & known,
                false_alarm=entry.get("false_alarm", FALSE_ALARM),
            )


def _chances(
    entry: Mapping[str, Any], sees: Mapping[str, Any], sure: str, may: str, known: set[str]
) -> dict[str, float]:
    chances = dict.fromkeys(sees.get(may, ()), entry.get("may_chance", MAY))
    chances |= dict.fromkeys(sees.get(sure, ()), entry.get("detects_chance", DETECTS))
    own = sees.get("chances", {})
    return {link: own.get(link, chance) for link, chance in chances.items() if link in known}


def _complaint(test: ChainTest, entry: Mapping[str, Any]) -> ChainTest:
    """Make of the test of the whole function what brought the machine here.

    A complaint is rarely wrong (`doubt`), and hardly ever misses what that test detects.
    """
    (signal,) = test.signals
    chances = {
        link: _COMPLAINT_DETECTS if link in signal.certain else chance
        for link, chance in signal.chances.items()
    }
    return ChainTest(
        name=COMPLAINT,
        letter="",
        title=entry["title"],
        question=f"Does it {entry['verb']}?",
        minutes=test.minutes,
        minutes_loose=test.minutes,
        needs=(),
        signals=(Signal(chances, signal.certain, entry["doubt"]),),
        howto=test.howto,
        basis=entry.get("basis", _OWN),
    )
