"""What ``coilmeter chain`` writes: what is known, weights, cases, how a test is made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from coilmeter.cli.chain_setup import find_map
from coilmeter.cli.logging_files import WholeFile
from coilmeter.cli.options import Shape
from coilmeter.cli.results import ALL_SOUND, SOMETHING, columns_of, put_chunks, put_listing
from coilmeter.cli.saying import say
from coilmeter.compute.chain_diagnosis import Diagnosis, Verdict
from coilmeter.compute.chain_weights import learn_weights
from coilmeter.errors import UnknownNameError
from coilmeter.report.chain_drawing import drawing
from coilmeter.report.chain_howto import how_lines
from coilmeter.report.chain_page import chain_page
from coilmeter.report.chain_rows import cases_listing, links_listing, weights_listing
from coilmeter.report.chain_svg import svg
from coilmeter.report.chain_words import cautions, headline, notes
from coilmeter.report.widths import WIDTH, sentence
from coilmeter.sources.chain_cases import Journal
from coilmeter.values.chain_cases import Case
from coilmeter.values.chains import ChainMap


@dataclass(frozen=True, slots=True)
class Where:
    """Where results go: their shape, a file, and a file for the drawing."""

    shape: Shape
    out: Path | None
    draw: Path | None = None


def put_diagnosis(diagnosis: Diagnosis, where: Where) -> int:
    """Write what is known; the exit code comes back: 0 where nothing is broken, else 1.

    Raises
    ------
    StoreError
        When a file cannot be written.

    """
    if where.draw is not None:
        with WholeFile(where.draw) as file:
            file.write(svg(diagnosis))
    if where.shape is Shape.TABLE:
        put_chunks([_text(diagnosis, columns_of(where.out))], where.out)
    elif where.shape is Shape.HTML:
        put_chunks([chain_page(diagnosis)], where.out)
    else:
        put_listing(links_listing(diagnosis), where.shape, where.out)
    return ALL_SOUND if diagnosis.verdict is Verdict.NOTHING else SOMETHING


def put_weights(chain: ChainMap, journal: Journal, where: Where) -> None:
    """Write the weights of a map, with the closed cases counted in.

    Raises
    ------
    StoreError
        When a file cannot be written.

    """
    counts = journal.counts(chain.name)
    learnt = learn_weights(chain, counts)
    known = sum(each.cases for each in learnt)
    put_listing(weights_listing(chain.name, learnt, known), where.shape, where.out)
    astray = set(counts) - {link.name for link in chain.links}
    if astray:
        say(f"! not counted, because no link is called so: {', '.join(sorted(astray))}.")


def put_cases(journal: Journal, where: Where) -> None:
    """Write the list of all cases; raises `StoreError` when a file cannot be written."""
    put_listing(
        cases_listing(list(journal.cases.values()), journal.troubles), where.shape, where.out
    )


def put_how(maps: Mapping[str, ChainMap], fault: str, name: str, out: Path | None) -> None:
    """Write how a test is made, in each chain in which it is made differently.

    Raises
    ------
    UnknownNameError
        When no chain has such a test.
    StoreError
        When a file cannot be written.

    """
    columns = columns_of(out)
    told: dict[str, list[str]] = {}
    known: list[str] = []
    for chain in [find_map(maps, fault)] if fault else maps.values():
        try:
            test = chain.test(name)
        except UnknownNameError as error:
            known += error.known
            continue
        text = "\n".join(_wrapped(line, columns) for line in how_lines(test, chain.needs))
        told.setdefault(text, []).append(chain.name)
    if not told:
        raise UnknownNameError("test", name, list(dict.fromkeys(known)))
    parts = [
        f"In {' and '.join(chains)}:\n{text}\n" if len(told) > 1 else f"{text}\n"
        for text, chains in told.items()
    ]
    put_chunks(["\n".join(parts)], out)


def close_case(journal: Journal, case: Case, chain: ChainMap, links: Sequence[str]) -> None:
    """Close a case with what it was, by name; with nothing, by ``none``.

    Raises
    ------
    InputError
        When it is closed already, or there is no such link.
    StoreError
        When it could not be kept.

    """
    nothing = [link.lower() for link in links] == ["none"]
    found = () if nothing else tuple(chain.link(link.lower()).name for link in links)
    journal.close(case, found)
    say(f"case {case.name} is closed: {', '.join(found) or 'nothing was broken'}.")


def _text(diagnosis: Diagnosis, columns: int | None) -> str:
    said = [*notes(diagnosis)]
    if diagnosis.ended is None and diagnosis.verdict is Verdict.TEST:
        test = diagnosis.tests[0].test
        answers = " or ".join(f"{test.name}={outcome}" for outcome in test.meanings)
        said += [
            f"Ask: {test.question}",
            f"Then --saw {answers}; --how {test.name} tells how it is made.",
        ]
    said += [f"Mind: {caution}" for caution in cautions(diagnosis)]
    lines = [_wrapped(headline(diagnosis), columns), "", drawing(diagnosis, columns)]
    lines += [_wrapped(line, columns) for line in said]
    return "\n".join(lines) + "\n"


def _wrapped(text: str, columns: int | None) -> str:
    # Names of tests and links are typed as they stand here: never broken, in a file either.
    return sentence(text, WIDTH if columns is None else columns)
