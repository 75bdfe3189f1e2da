"""The page of the chains: links, what each test sees of them, and how each is made."""  # noqa: INP001 - see generate.py

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from writing import NOTE, paragraphs, table

from coilmeter.catalog.chain_maps import load_chains
from coilmeter.values.chains import ChainMap, ChainTest, HowTo

_INTRODUCTION: Final = """# Links and tests of the chains

What [`coilmeter chain`](../chain.md) knows: what can be broken, what each test sees of it,
and how each test is made. `coilmeter chain --how NAME` shows the same at the bench.
A file of your own [changes and extends it](../chain.md#links-and-tests-of-your-own).

Read [what can hurt you, the head or a tape](../safety.md) first.
Tests that need `live` are made in the open set under power: they are for people trained to do
it, by the rules where you are. `--cannot live` leaves them out.

Labels: **pub** a published source, named under its key in
[PROVENANCE.md](../../reference_data/PROVENANCE.md); **prac** common practice, no source;
**rep** reported by repairers, no standing as a source; **mem** from memory, not verified;
**der** derived; **own** this project's own choice."""

_CELLS: Final = """`X` the test fails when this link is broken, `o` it may, `.` it is blind.
In a swap `F` says that the fault follows the head's lead, `B` that it stays with the board.
Weight: how often it is the one, against the others. For all: the share of these times in
which it is broken for all tracks at once."""

_NEEDS: Final = """What tests need, and `--cannot` can leave out:"""


def page() -> str:
    """Write the page."""
    chains = load_chains()
    first = next(iter(chains.values()))
    parts = [NOTE, _INTRODUCTION, "## Needs", _NEEDS]
    parts.append(table(("need", "what"), [(f"`{k}`", v) for k, v in first.needs.items()]))
    parts += ["## Chains", _CELLS]
    for chain in chains.values():
        parts += _chain(chain)
    parts.append("## Tests")
    for name in dict.fromkeys(test.name for chain in chains.values() for test in chain.tests):
        parts += _test(name, chains)
    return paragraphs(*parts)


def _chain(chain: ChainMap) -> Iterator[str]:
    yield f"### {chain.name}"
    yield f"{chain.title[:1].upper()}{chain.title[1:]}. Links in the order of the signal."
    yield table(
        ("link", "what", "weight", "for all", "what mends it", "minutes"),
        [
            (
                f"`{link.name}`",
                link.title,
                f"{link.weight:g}",
                f"{link.common:g}",
                link.repair,
                f"{link.repair_minutes:g}",
            )
            for link in chain.links
        ],
    )
    yield table(
        ("link", *(test.letter or test.name for test in chain.tests)),
        [
            (f"`{link.name}`", *(str(test.cell(link.name)) for test in chain.tests))
            for link in chain.links
        ],
    )


def _test(name: str, chains: Mapping[str, ChainMap]) -> Iterator[str]:
    """Write one test: once what is the same everywhere, then where a chain differs."""
    having = {
        chain.name: chain.test(name)
        for chain in chains.values()
        if name in {test.name for test in chain.tests}
    }
    first = next(iter(having.values()))
    yield f"### {name}"
    letter = f" (letter {first.letter})" if first.letter else ""
    yield f"{first.title[:1].upper()}{first.title[1:]}{letter}. For: {', '.join(having)}."
    yield _cost(first)
    shown: list[tuple[str, str]] = []
    for chain, test in having.items():
        lines = "\n".join(_told(test))
        if lines not in [each for _, each in shown]:
            shown.append((chain, lines))
    for number, (chain, lines) in enumerate(shown):
        if number:
            yield f"In {chain}:"
        yield lines


def _cost(test: ChainTest) -> str:
    loose = ""
    if test.minutes_loose != test.minutes:
        loose = f", {test.minutes_loose:g} with the head in the hand"
    return f"Minutes: {test.minutes:g}{loose} ({test.basis})."


def _told(test: ChainTest) -> Iterator[str]:
    how: HowTo = test.howto
    swap = len(test.signals) > 1
    yield f"- **Asked:** {test.question}"
    if test.needs:
        yield f"- **Needs:** {', '.join(f'`{need}`' for need in test.needs)}"
    yield from (f"- **Mind:** {caution}" for caution in how.cautions)
    yield f"- **Connect:** {how.connect}"
    yield f"- **Expect:** {how.expect}"
    yield f"- **{'It follows' if swap else 'Pass'}:** {how.passed}"
    yield f"- **{'It stays' if swap else 'Fail'}:** {how.failed}"
    yield from (f"- **Level:** {level}" for level in how.levels)
