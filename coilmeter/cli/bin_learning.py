"""Good heads of the bin to learn a band from, and what to know of how they were chosen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from coilmeter.cli import bin_options
from coilmeter.cli.results import judged_files
from coilmeter.cli.saying import say
from coilmeter.compute.settings import Settings
from coilmeter.errors import InputError
from coilmeter.report.bin_tables import code
from coilmeter.spares.noting import about
from coilmeter.spares.reading import records_of
from coilmeter.spares.records import storable
from coilmeter.spares.rules import Rules
from coilmeter.spares.searching import LONGEST_ASKED, Wanted, search
from coilmeter.spares.store import Bin
from coilmeter.spares.verdicts import judge, refresh
from coilmeter.values import Grade, HeadResult
from coilmeter.values.bin import Status

CHOSEN_BY_GRADE: Final = (
    "These heads were chosen by a grade that the present bands give: coils outside of those "
    "bands are not among them, so that the limits may come out too narrow. --tape-tested "
    "chooses by what was heard instead."
)


@dataclass(frozen=True, slots=True)
class GoodHeads:
    """Heads to learn from, how they were chosen in words, and what to mind of that."""

    heads: tuple[HeadResult, ...]
    chosen: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """Which heads of the bin are taken for good; scrapped and disputed ones never are.

    Parameters
    ----------
    from_bin
        Whether any is.
    kind, text
        Only heads of this kind, and with this in name, notes, marking or reason; empty for
        any.
    grades
        Only heads of these grades; where none is named, matched ones, and any with
        `tape_tested`.
    tape_tested
        Only heads that somebody has noted as tape-tested.

    """

    from_bin: bool
    kind: str = ""
    grades: tuple[str, ...] = ()
    text: str = ""
    tape_tested: bool = False

    @property
    def wanted(self) -> Wanted:
        """The same as a search."""
        usual = () if self.tape_tested else (str(Grade.MATCHED),)
        return Wanted(
            grades=self.grades or usual,
            kinds=(self.kind,) if self.kind else (),
            statuses=(Status.AVAILABLE, Status.USED),
            text=self.text,
        )

    @property
    def words(self) -> str:
        """The same in words."""
        told = [
            *(self.wanted.grades or ("any grade",)),
            self.kind,
            "tape-tested" if self.tape_tested else "",
            f"with {self.text!r}" if self.text else "",
        ]
        return f"heads of the bin ({', '.join(filter(None, told))})"


def heads_to_learn_from(
    files: Sequence[str],
    settings: Settings,
    choice: Choice,
    store: str,
    catalog: list[Path] | None,
) -> GoodHeads:
    """Judge good heads from readings files, from the bin, or from both.

    Raises
    ------
    InputError
        When nothing is named, a file has mistakes, or no head of the bin is like that.
    StoreError
        When the bin cannot be read.

    """
    if not files and not choice.from_bin:
        raise InputError(
            "no readings file is named, and not the bin",
            hint="name files of good heads, or say --from-bin.",
        )
    if not choice.from_bin and choice != Choice(from_bin=False, kind=choice.kind):
        raise InputError(
            "--grade, --text and --tape-tested choose heads of the bin",
            hint="say --from-bin as well.",
        )
    heads = tuple(judged_files(files, settings)[1])
    if not choice.from_bin:
        return GoodHeads(heads, "")
    with bin_options.bin_to_read(store) as shelf:
        good = of_bin(shelf, bin_options.usual_rules(catalog), choice)
    both = f"readings files and {good.chosen}" if files else good.chosen
    return GoodHeads((*heads, *good.heads), both, good.notes)


def of_bin(shelf: Bin, rules: Rules, choice: Choice) -> GoodHeads:
    """Choose heads of the bin; raises `InputError` when none is like that."""
    wanted = choice.wanted
    storable(choice.text, "--text", LONGEST_ASKED)
    refresh(shelf, rules, say, wanted)
    with shelf.read() as connection:
        found = [line.head.id for line in search(connection, wanted)]
        if choice.tape_tested:
            records = records_of(connection, found)
            found = [each.head.id for each in records if about(each).tape_tested]
        judged = list(judge(connection, found, rules))
    if not judged:
        raise InputError(
            f"there are no {choice.words}",
            hint="'spares list' shows what is there; readings files of good heads can be named "
            "instead.",
        )
    names = Counter(each.head.name for each in judged)
    heads = tuple(
        replace(each.result, head=each.head.name)
        if each.head.name and names[each.head.name] == 1
        else replace(each.result, head=code(each.head.code))
        for each in judged
        if each.result is not None
    )
    by_ear = choice.tape_tested and not choice.grades
    return GoodHeads(heads, choice.words, () if by_ear else (CHOSEN_BY_GRADE,))
