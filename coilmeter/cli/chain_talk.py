"""A case at the prompt: one plain question at a time, until something is sure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from coilmeter.cli.chain_calc import calculated
from coilmeter.cli.chain_desk import Desk
from coilmeter.cli.chain_lines import room, tell, tell_in
from coilmeter.cli.chain_texts import WORDS, parse_saw
from coilmeter.cli.saying import ENDS, ask, say
from coilmeter.compute.chain_diagnosis import Diagnosis, Standing, Verdict
from coilmeter.compute.chain_model import complaint
from coilmeter.errors import InputError
from coilmeter.report.chain_drawing import drawing
from coilmeter.report.chain_howto import how_lines, title_line, why_lines
from coilmeter.report.chain_words import headline, notes, seen_text, suspects
from coilmeter.values.chains import COMPLAINT, OF_LINKS, ChainTest, Outcome, Seen

HELP: Final = """Answer yes, no or unknown, or with a word:
  how        how to make the test         why        why this one, why these suspects
  draw       the chain as it stands       seen       what was seen so far
  back       take the last answer back    redo TEST  take one again
  test TEST  make another one instead     cannot     leave it out (cannot scope: all such)
  can NAME   have it again after all      calc       small sums for a test
  saw 2:look=no, saw cable-plug=sound     found LINK it was this one: close the case
  quit       leave, the case stays open"""
_LIVE: Final = "live"


class Ended(Exception):  # noqa: N818 - no error: the person has had enough, or the case is closed
    """Nothing is asked any more."""


class Talk:
    """The talk about one case.

    Parameters
    ----------
    desk
        The case; its complaint is taken down already.

    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._warned: set[str] = set()
        self._accepted: set[frozenset[Seen]] = set()
        self._cleared: set[str] = set()
        self._chosen: ChainTest | None = None
        self._redone: dict[tuple[str, str], Seen] = {}
        self._go_on = False

    def run(self) -> None:
        """Ask until the case is closed or the person ends it; all answers are kept at once.

        Raises
        ------
        StoreError
            When an answer could not be kept.

        """
        say(HELP)
        try:
            while True:
                self._step(self._desk.diagnosis())
        except Ended:
            return

    def _step(self, diagnosis: Diagnosis) -> None:
        new = [clash for clash in diagnosis.clashes if frozenset(clash) not in self._accepted]
        if new:
            self._clash(new[0])
            return
        test = self._chosen
        if (
            test is None
            and diagnosis.tests
            and (diagnosis.by_odds is Verdict.TEST or self._go_on)
        ):
            test = diagnosis.tests[0].test
        self._chosen, self._go_on = None, False
        if test is None:
            self._end(diagnosis)
        else:
            self._make(diagnosis, test)

    def _make(self, diagnosis: Diagnosis, test: ChainTest) -> None:
        """Ask what a test showed."""
        made = {each.name for each in self._desk.seen if each.outcome not in OF_LINKS}
        number = len(made - {COMPLAINT}) + 1
        tell(f"[{number}] {title_line(test)}")
        for caution in test.howto.cautions:
            if _LIVE in test.needs or caution not in self._warned:
                tell(f"  ! {caution}")
            self._warned.add(caution)
        if test.needs:
            tell(f"  needs {'; '.join(self._desk.chain.needs[need] for need in test.needs)}")
        tell(f"  {test.question}")
        if len(test.signals) > 1:
            tell("  follows, stays, both (both dead now) or neither (both play now)")
        while True:
            text = self._asked("answer")
            outcome = WORDS.get(text.lower())
            if outcome in {*test.meanings, Outcome.UNKNOWN}:
                self._took(Seen(test.name, outcome or Outcome.UNKNOWN, self._desk.track))
                return
            if self._obey(text, diagnosis, test):
                return

    def _took(self, seen: Seen) -> None:
        """Take an answer down, and say what it changed."""
        self._desk.saw(seen)
        after = self._desk.diagnosis()
        cleared = {each.link.name for each in after.links if each.standing is Standing.CLEARED}
        new = [
            each.link.name for each in after.links if each.link.name in cleared - self._cleared
        ]
        if new:
            tell(f"  cleared: {', '.join(new)}")
        self._cleared = cleared
        tell(f"  suspects: {suspects(after)}")

    def _obey(self, text: str, diagnosis: Diagnosis, test: ChainTest | None) -> bool:
        """Do what a word asks for; True where the question has to be put anew."""
        word, _, rest = text.partition(" ")
        try:
            return self._command(word.lower(), rest.strip(), diagnosis, test)
        except InputError as error:
            tell_in(str(error).split("\n"))
            return False

    def _command(  # noqa: C901, PLR0911, PLR0912 - a word a line
        self, word: str, rest: str, diagnosis: Diagnosis, test: ChainTest | None
    ) -> bool:
        desk = self._desk
        match word:
            case "how":
                self._how(desk.chain.test(rest) if rest else test)
            case "why":
                by_name = {each.test.name: each for each in diagnosis.tests}
                tell_in(why_lines(diagnosis, by_name.get(test.name) if test else None))
            case "draw":
                tell_in(drawing(diagnosis, room()).splitlines())
            case "seen":
                for each in desk.seen:
                    tell(f"  {seen_text(desk.chain, each, desk.track)}")
            case "calc":
                tell_in(calculated(rest))
            case "back":
                return self._back()
            case "redo":
                return self._redo(desk.chain.test(rest) if rest else None)
            case "test":
                if rest:
                    self._chosen = desk.chain.test(rest)
                else:
                    self._go_on = True
                return True
            case "cannot":
                return self._cannot(rest, test)
            case "can":
                tell(f"  {desk.allow(rest)} can be had again")
                return True
            case "saw":
                self._took(parse_saw(rest, desk.chain, desk.track))
                return True
            case "found":
                self._close((desk.chain.link(rest.lower()).name,))
            case "?" | "help" | "":
                say(HELP)
            case _:
                self._misunderstood(word, test)
        return False

    def _misunderstood(self, word: str, test: ChainTest | None) -> None:
        expected = "one of the words above"
        if test is not None:
            answers = ["yes", "no"] if len(test.signals) == 1 else [*test.meanings]
            expected = f"{', '.join(answers)} or unknown"
        tell(f"  saw {word!r}, expected {expected}; ? lists the words")

    def _how(self, test: ChainTest | None) -> None:
        if test is None:
            raise InputError("how: saw no test", hint="name one: how look.")
        tell_in(how_lines(test, self._desk.chain.needs))

    def _back(self) -> bool:
        """Take the last answer back; one that was asked for again stands again."""
        desk = self._desk
        seen = {(each.name, each.track) for each in desk.seen}
        old = next((each for place, each in self._redone.items() if place not in seen), None)
        if old is None:
            last = desk.back()
            told = "" if last is None else seen_text(desk.chain, last, desk.track)
            tell(f"  taken back: {told}" if told else "  there is nothing to take back")
            old = None if last is None else self._redone.get((last.name, last.track))
            if old is None:
                return bool(told)
        del self._redone[old.name, old.track]
        desk.saw(old)
        tell(f"  stands again: {seen_text(desk.chain, old, desk.track)}")
        return True

    def _redo(self, test: ChainTest | None) -> bool:
        last = self._desk.last(test) if test is not None else None
        if test is None or last is None:
            done = [each.name for each in self._desk.seen if each.track == self._desk.track]
            raise InputError("redo: which one?", hint=f"one of: {', '.join(done)}.")
        self._desk.withdraw(last)
        self._redone[last.name, last.track] = last
        self._chosen = test
        return True

    def _cannot(self, what: str, test: ChainTest | None) -> bool:
        if not what and test is not None and test.needs:
            tell(
                f"  Which of these is it? {', '.join(test.needs)}; Enter leaves out this test."
            )
            what = self._asked("missing") or test.name
        elif not what and test is not None:
            what = test.name
        tell(f"  left out: {self._desk.leave_out(what)}")
        return True

    def _clash(self, clash: Sequence[Seen]) -> None:
        """Name what cannot all be right, and ask which to take again."""
        desk = self._desk
        tell("These cannot all be right:")
        for number, each in enumerate(clash, start=1):
            tell(f"  {number} {seen_text(desk.chain, each, desk.track)}")
        tell(
            "The first fits the rest least. Which one will you take again? Its number; or "
            "keep, where all of them are right: then the fault comes and goes."
        )
        while True:
            text = self._asked("redo")
            if text.lower() == "keep":
                self._accepted.add(frozenset(clash))
                tell("  kept. flex-lead finds what comes and goes, where a joint does it.")
                return
            if text.isdecimal() and 1 <= int(text) <= len(clash):
                self._again(clash[int(text) - 1])
                return
            tell(f"  saw {text!r}, expected a number from 1 to {len(clash)}, or keep")

    def _again(self, seen: Seen) -> None:
        """Ask anew for something that was seen, on its own track."""
        desk = self._desk
        if seen.outcome in OF_LINKS:
            desk.withdraw(seen)
            tell(f"  taken back: {seen_text(desk.chain, seen, desk.track)}")
            return
        test = desk.chain.test(seen.name)
        tell(f"  Track {seen.track}: {test.question}")
        while True:
            outcome = WORDS.get(self._asked("answer").lower())
            if outcome in {*test.meanings, Outcome.UNKNOWN}:
                break
            tell(f"  one of: {', '.join(test.meanings)}, unknown")
        desk.withdraw(seen)
        self._redone[seen.name, seen.track] = seen
        self._took(Seen(seen.name, outcome or Outcome.UNKNOWN, seen.track))

    def _end(self, diagnosis: Diagnosis) -> None:
        """Say what it is, and ask how it ended."""
        tell(headline(diagnosis))
        tell_in(notes(diagnosis))
        if diagnosis.by_odds is Verdict.NOTHING:
            tell("Close the case with that? yes; or test, to go on testing; or later")
        else:
            first = [link.name for link in diagnosis.verdict_links[:1]]
            default = f"Enter for {first[0]}" if first else "its name"
            tell(
                f"What have you repaired? {default}, or another link; test, to go on; or later."
            )
        while True:
            text = self._asked("repaired")
            if text.lower() == "later":
                raise Ended
            if diagnosis.by_odds is Verdict.NOTHING:
                if WORDS.get(text.lower()) is Outcome.PASS:
                    self._close(())
            elif WORDS.get(text.lower() or "yes") is Outcome.PASS and first:
                self._repaired(first[0])
                return
            elif text.lower() in self._desk.model.places:
                self._repaired(text.lower())
                return
            if self._obey(text, diagnosis, None):
                return

    def _repaired(self, link: str) -> None:
        desk = self._desk
        tell(f"  Does it {desk.chain.verb} now?")
        while True:
            text = self._asked("works")
            outcome = WORDS.get(text.lower())
            if outcome is Outcome.PASS:
                self._close((link,))
            if outcome is Outcome.FAIL:
                desk.saw(Seen(link, Outcome.REPAIRED, desk.track))
                self._took(complaint(desk.track))
                return
            if text.lower() == "later":
                raise Ended
            tell("  yes, no, or later")

    def _close(self, links: tuple[str, ...]) -> None:
        desk = self._desk
        if desk.journal is not None and desk.case is not None:
            desk.journal.close(desk.case, links)
            what = ", ".join(links) or "nothing was broken"
            tell(f"  case {desk.case.name} is closed: {what}.")
        raise Ended

    @staticmethod
    def _asked(prompt: str) -> str:
        text = ask(f"  {prompt}> ")
        if text is None or text.lower() in ENDS:
            raise Ended
        return text
