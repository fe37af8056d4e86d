"""Where a batch as entered departs from its method card, each with the card's own standing.

What was taken over from the card cannot depart from it. Nothing here refuses an entry.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from app.domain.batches import BatchEntry, is_covered, is_uncovered
from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.measures import span_words
from app.domain.method_card_words import hormone_words
from app.domain.method_cards import CardValues
from app.domain.standings import COMMON_PRACTICE, Advisory

# How far the medium may be beside the card before it is worth a word; the margin is ours.
HEAT_MARGIN_C: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class CardSays:
    """What the card for a plant and type says, and where each group of it comes from."""

    values: CardValues = field(default_factory=CardValues)
    standings: Mapping[str, str] = field(default_factory=dict)

    def standing(self, group: str) -> str:
        """Return where a group comes from."""
        return self.standings.get(group, COMMON_PRACTICE)


def card_hints(card: CardSays) -> Iterator[Advisory]:
    """Yield what the card says, one sentence for each field it concerns, for beside the fields."""
    values = card.values
    said = {
        "length_cm": (
            "length",
            span_words(low=values.length_cm_low, high=values.length_cm_high, unit="cm"),
        ),
        "leaves_left": ("leaves", span_words(low=values.leaves_low, high=values.leaves_high)),
        "hormone": ("hormone", hormone_words(values)),
        "cover": ("cover", "to leave uncovered" if is_uncovered(values.cover) else values.cover),
        "bottom_heat_c": (
            "bottom_heat",
            span_words(low=values.bottom_heat_c_low, high=values.bottom_heat_c_high, unit="°C"),
        ),
    }
    for name, (group, words) in said.items():
        if words:
            sentence = f"The method card says {words}."
            yield Advisory(field=name, sentence=sentence, standing=card.standing(group))


def card_advisories(entry: BatchEntry, *, card: CardSays) -> Iterator[Advisory]:
    """Yield where the entry departs from the card, the fields in their order on the form."""
    yield from _about_length(entry, card)
    yield from _about_leaves(entry, card)
    yield from _about_shoot(entry, card)
    yield from _about_hormone(entry, card)
    yield from _about_cover(entry, card)
    yield from _about_heat(entry, card)


def _about_length(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    low, high = card.values.length_cm_low, card.values.length_cm_high
    if entry.length_cm is None or (low is None and high is None):
        return
    span = span_words(low=low, high=high, unit="cm")
    if low is not None and entry.length_cm < low:
        why = "shorter ones have little in store to root on."
    elif high is not None and entry.length_cm > high:
        why = "longer ones lose more water than their base can take up."
    else:
        return
    sentence = f"{entry.length_cm:g} cm: the method card says {span}; {why}"
    yield Advisory(field="length_cm", sentence=sentence, standing=card.standing("length"))


def _about_leaves(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    low, high = card.values.leaves_low, card.values.leaves_high
    if entry.leaves_left is None or (low is None and high is None):
        return
    if low is not None and entry.leaves_left < low:
        why = "fewer hardly feed the cutting."
    elif high is not None and entry.leaves_left > high:
        why = "more dry it out."
    else:
        return
    span = span_words(low=low, high=high)
    sentence = f"{entry.leaves_left} leaves left: the method card says {span}; {why}"
    yield Advisory(field="leaves_left", sentence=sentence, standing=card.standing("leaves"))


def _about_shoot(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    for name in ("cut", "section"):
        done, asked = getattr(entry, name), getattr(card.values, name)
        if done is not None and asked is not None and done is not asked:
            sentence = f"{done.value.capitalize()}: the method card says {asked.value}."
            yield Advisory(field=name, sentence=sentence, standing=card.standing(name))


def _about_hormone(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    if entry.hormone is None or not card.values.hormone_substance:
        return
    sentence = _hormone_sentence(entry.hormone, card.values)
    if sentence:
        yield Advisory(field="hormone", sentence=sentence, standing=card.standing("hormone"))


def _hormone_sentence(used: Hormone, values: CardValues) -> str:
    asked = hormone_words(values)
    undipped, bare = used.substance == NO_HORMONE, values.hormone_substance == NO_HORMONE
    if bare and not undipped:
        return (
            f"{used.label}: the method card says no hormone; where it does not help it can scorch."
        )
    if undipped:
        needed = not bare and values.hormone_ppm_low != 0
        return f"No hormone: the method card says {asked}." if needed else ""
    if used.substance != values.hormone_substance:
        return (
            f"{used.substance}: the method card says {asked}. Another substance or salt is not as "
            "strong at the same ppm."
        )
    if used.ppm is not None and not _spans(values, used.ppm):
        return f"{used.ppm:,} ppm: the method card says {asked}."
    return ""


def _spans(values: CardValues, ppm: int) -> bool:
    low, high = values.hormone_ppm_low, values.hormone_ppm_high
    return (low is None or ppm >= low) and (high is None or ppm <= high)


def _about_cover(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    asked = card.values.cover
    if is_uncovered(asked) and is_covered(entry.cover):
        sentence = f"{entry.cover}: the method card leaves them uncovered, as closed air rots them."
    elif is_covered(asked) and is_uncovered(entry.cover):
        sentence = "Uncovered: the method card covers them, as without roots they dry out."
    else:
        return
    yield Advisory(field="cover", sentence=sentence, standing=card.standing("cover"))


def _about_heat(entry: BatchEntry, card: CardSays) -> Iterator[Advisory]:
    low, high = card.values.bottom_heat_c_low, card.values.bottom_heat_c_high
    heat = entry.bottom_heat_c
    if heat is None or (low is None and high is None):
        return
    below = low is not None and heat < low - HEAT_MARGIN_C
    above = high is not None and heat > high + HEAT_MARGIN_C
    if below or above:
        span = span_words(low=low, high=high, unit="°C")
        why = "colder, roots are slow." if below else "warmer, the base rots more easily."
        sentence = f"{heat:g} °C: the method card says {span}; {why}"
        standing = card.standing("bottom_heat")
        yield Advisory(field="bottom_heat_c", sentence=sentence, standing=standing)
