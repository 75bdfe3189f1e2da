"""What must hold of chains once all files have been read: whole entries, names that exist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from coilmeter.errors import Mistake
from coilmeter.values.chains import COMPLAINT

Place = tuple[str, ...]

LISTS: Final = ("detects", "may", "follows", "stays")
_NEEDED: Final = {
    "maps": ("title", "verb", "complaint", "several", "doubt"),
    "links": ("title", "station", "weight", "repair", "repair_minutes"),
    "tests": ("title", "question", "minutes", "connect", "expect", "passed", "failed"),
}
_FEWEST_LINKS: Final = 2


class Checker:
    """Looks through merged tables.

    Parameters
    ----------
    whole
        Everything under ``chain``, of all files.
    origins
        The file that last said something of each place.

    """

    def __init__(self, whole: Mapping[str, Any], origins: Mapping[Place, Path]) -> None:
        self._whole = whole
        self._origins = origins

    def mistakes(self) -> list[Mistake]:
        """Collect all of them; what is missing comes alone, because the rest rests on it."""
        missing = list(self._missing())
        if missing:
            return missing
        return [*self._maps(), *self._names(), *self._told(), *self._coverage()]

    def _wrong(self, place: Place, seen: str, expected: str) -> Mistake:
        known = [place[:end] for end in range(len(place), 0, -1)]
        path = next(self._origins[each] for each in known if each in self._origins)
        return Mistake(str(path), None, ".".join(("chain", *place)), seen, expected)

    def _missing(self) -> Iterator[Mistake]:
        entries = [(("maps", name), each) for name, each in self._whole["maps"].items()]
        entries += [(("tests", name), each) for name, each in self._whole["tests"].items()]
        for chain, links in self._whole["links"].items():
            entries += [(("links", chain, name), each) for name, each in links.items()]  # type: ignore[misc]
        for place, entry in entries:
            for key in _NEEDED[place[0]]:
                if key not in entry:
                    yield self._wrong((*place, key), "nothing", "this key, which is required")

    def _maps(self) -> Iterator[Mistake]:
        maps = self._whole["maps"]
        for name in set(self._whole["links"]) - set(maps):
            yield self._wrong(("links", name), repr(name), f"a chain: {', '.join(maps)}")
        for name, entry in maps.items():
            tests = [test for test, each in self._whole["tests"].items() if _sees(each, name)]
            if entry["complaint"] not in tests:
                yield self._wrong(
                    ("maps", name, "complaint"),
                    repr(entry["complaint"]),
                    f"a test that sees it: {', '.join(tests) or '(none)'}",
                )
            links = self._whole["links"].get(name, {})
            weighty = {link for link, each in links.items() if each["weight"] > 0}
            if len(weighty) < _FEWEST_LINKS:
                yield self._wrong(("maps", name), "too few links", "two with a weight")
            elif entry["complaint"] in tests:
                sees = self._whole["tests"][entry["complaint"]]["sees"][name]
                if not weighty & {*sees.get("detects", ())}:
                    yield self._wrong(
                        ("maps", name, "complaint"),
                        repr(entry["complaint"]),
                        "a test that detects one link with a weight",
                    )

    def _names(self) -> Iterator[Mistake]:
        taken = {COMPLAINT: COMPLAINT}
        for name, entry in self._whole["tests"].items():
            for word in filter(None, (name, entry.get("letter", "").lower())):
                if taken.setdefault(word, name) != name:
                    expected = f"another, because {taken[word]} has it"
                    yield self._wrong(("tests", name), repr(word), expected)

    def _told(self) -> Iterator[Mistake]:
        """Find what tests need, or warn of, that nobody describes."""
        for name, entry in self._whole["tests"].items():
            told: list[tuple[Place, Any]] = [(("tests", name), entry)]
            for chain, sees in entry.get("sees", {}).items():
                told.append((("tests", name, "sees", chain), sees))
            for place, each in told:
                for key in ("needs", "cautions"):
                    for word in set(each.get(key, ())) - set(self._whole[key]):
                        expected = f"one of: {', '.join(self._whole[key])}"
                        yield self._wrong((*place, key), repr(word), expected)

    def _coverage(self) -> Iterator[Mistake]:
        for name, entry in self._whole["tests"].items():
            for chain, sees in entry.get("sees", {}).items():
                place = ("tests", name, "sees", chain)
                if chain in self._whole["maps"]:
                    yield from self._of_sees(place, sees, self._whole["links"].get(chain, {}))
                else:
                    maps = ", ".join(self._whole["maps"])
                    yield self._wrong(place, repr(chain), f"a chain: {maps}")

    def _of_sees(
        self, place: Place, sees: Mapping[str, Any], links: Mapping[str, Any]
    ) -> Iterator[Mistake]:
        named = [(key, link) for key in LISTS for link in sees.get(key, ())]
        for number, (key, link) in enumerate(named):
            if link not in links:
                yield self._wrong((*place, key), repr(link), f"a link: {', '.join(links)}")
            elif link in {other for _, other in named[:number]}:
                yield self._wrong((*place, key), repr(link), "each link in one list, once")
        for link in set(sees.get("chances", {})) - {link for _, link in named}:
            yield self._wrong((*place, "chances"), repr(link), "a link of the lists beside it")
        halves = [bool(sees.get(key)) for key in ("follows", "stays")]
        if not named:
            yield self._wrong(place, "no link", "one at least that the test sees")
        elif any(halves) and (not all(halves) or sees.get("detects")):
            yield self._wrong(place, "half of a swap", "follows and stays, without detects")


def _sees(entry: Mapping[str, Any], chain: str) -> bool:
    return chain in entry.get("sees", {})
