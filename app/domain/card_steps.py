"""The steps on a method card, each with its reason, and what usually goes wrong and its signs."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Self

from app.domain.problems import NotAccepted, Problem

MOST_STEPS: Final = 14
MOST_TROUBLES: Final = 8
LONGEST_LINE: Final = 240


@dataclass(frozen=True, kw_only=True)
class CardStep:
    """One step of the preparation: what is done, and why."""

    step: str
    reason: str = ""

    def tidied(self) -> Self:
        """Return it without spaces to spare."""
        return type(self)(step=_tidy(self.step), reason=_tidy(self.reason))


@dataclass(frozen=True, kw_only=True)
class CardTrouble:
    """One thing that usually goes wrong: how it shows, and what to do about it."""

    what: str
    signs: str = ""
    do: str = ""

    def tidied(self) -> Self:
        """Return it without spaces to spare."""
        return type(self)(what=_tidy(self.what), signs=_tidy(self.signs), do=_tidy(self.do))


def accepted_steps(steps: Iterable[CardStep]) -> tuple[CardStep, ...]:
    """Return the steps tidied, blank lines left out.

    Raises:
        NotAccepted: at "steps-N-step" or "steps-N-reason", a line is too long or a reason has no
            step; at "steps", there are too many.
    """
    tidy = [step.tidied() for step in steps]
    problems = list(_step_problems(tidy))
    kept = tuple(step for step in tidy if step.step or step.reason)
    if len(kept) > MOST_STEPS:
        sentence = f"Keep to {MOST_STEPS} steps: the card has to fit on one page."
        problems.append(Problem(field="steps", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return kept


def accepted_troubles(troubles: Iterable[CardTrouble]) -> tuple[CardTrouble, ...]:
    """Return what goes wrong tidied, blank lines left out.

    Raises:
        NotAccepted: at "troubles-N-what", "-signs" or "-do", a line is too long or nothing is
            named; at "troubles", there are too many.
    """
    tidy = [trouble.tidied() for trouble in troubles]
    problems = list(_trouble_problems(tidy))
    kept = tuple(each for each in tidy if each.what or each.signs or each.do)
    if len(kept) > MOST_TROUBLES:
        sentence = f"Keep to {MOST_TROUBLES} things that go wrong: the card has to fit on one page."
        problems.append(Problem(field="troubles", sentence=sentence))
    if problems:
        raise NotAccepted(tuple(problems))
    return kept


def _step_problems(steps: list[CardStep]) -> Iterator[Problem]:
    for place, step in enumerate(steps):
        yield from _too_long(f"steps-{place}", step=step.step, reason=step.reason)
        if step.reason and not step.step:
            sentence = "Say what is done here, or take the reason out."
            yield Problem(field=f"steps-{place}-step", sentence=sentence)


def _trouble_problems(troubles: list[CardTrouble]) -> Iterator[Problem]:
    for place, each in enumerate(troubles):
        yield from _too_long(f"troubles-{place}", what=each.what, signs=each.signs, do=each.do)
        if (each.signs or each.do) and not each.what:
            sentence = "Name what goes wrong, or take the rest out."
            yield Problem(field=f"troubles-{place}-what", sentence=sentence)


def _too_long(line: str, **texts: str) -> Iterator[Problem]:
    for name, text in texts.items():
        if len(text) > LONGEST_LINE:
            sentence = f"Keep to {LONGEST_LINE} letters: here are {len(text)}."
            yield Problem(field=f"{line}-{name}", sentence=sentence)


def _tidy(text: str) -> str:
    return " ".join(text.split())
