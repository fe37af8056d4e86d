"""When a hormone as entered looks like a slip: its strength for its form, and the time in it."""

from collections.abc import Iterator
from typing import Final

from app.domain.hormones import NO_HORMONE, Hormone
from app.domain.standings import COMMON_PRACTICE, Advisory

# Plausible strengths by form (common practice, no source).
QUICK_DIP_MOST_PPM: Final = 20_000
SOAK_MOST_PPM: Final = 200
POWDER_MOST_PPM: Final = 20_000
# Quick dip 1 to 5 seconds, soak 4 to 12 hours: K. A. Longman 1993, Rooting Cuttings of Tropical
# Trees, Commonwealth Science Council, sheet A 40 (CONFIRMED). The margins allowed here, a minute
# and an hour, are ours.
LONGEST_DIP_S: Final = 60
SHORTEST_SOAK_S: Final = 3600
_POWDERS: Final = ("powder", "talc", "dust")
_PUBLISHED: Final = "Longman 1993, Rooting Cuttings of Tropical Trees, sheet A 40"


def hormone_advisories(hormone: Hormone | None, *, dip_s: float | None) -> Iterator[Advisory]:
    """Yield what looks wrong with a hormone and the seconds in it; nothing where none is named."""
    if hormone is None or hormone.substance == NO_HORMONE:
        return
    form = hormone.form.lower()
    soak, powder = "soak" in form, any(word in form for word in _POWDERS)
    if hormone.ppm is not None:
        yield from _strength(hormone.ppm, soak=soak, powder=powder, dip_s=dip_s)
    if dip_s is None:
        return
    if "dip" in form and dip_s > LONGEST_DIP_S:
        sentence = f"{dip_s:,.15g} seconds: a quick dip takes 1 to 5 seconds."
        yield Advisory(field="dip_s", sentence=sentence, standing=_PUBLISHED, urgent=True)
    if soak and dip_s < SHORTEST_SOAK_S:
        sentence = f"{dip_s:,.15g} seconds: a soak takes 4 to 12 hours. Seconds are asked for here."
        yield Advisory(field="dip_s", sentence=sentence, standing=_PUBLISHED, urgent=True)


def _strength(ppm: int, *, soak: bool, powder: bool, dip_s: float | None) -> Iterator[Advisory]:
    if soak or (dip_s is not None and dip_s >= SHORTEST_SOAK_S and not powder):
        if ppm > SOAK_MOST_PPM:
            sentence = (
                f"{ppm:,} ppm is the strength of a dip, not of a soak (up to {SOAK_MOST_PPM} ppm): "
                "hours in it would kill the cuttings. Check before anybody soaks any."
            )
            yield _limit(sentence)
    elif powder and ppm > POWDER_MOST_PPM:
        yield _limit(f"{ppm:,} ppm is {ppm / 10_000:g} %: powders usually have up to 2 %.")
    elif not powder and ppm > QUICK_DIP_MOST_PPM:
        sentence = f"{ppm:,} ppm: quick dips usually have up to {QUICK_DIP_MOST_PPM:,} ppm."
        yield _limit(sentence)


def _limit(sentence: str) -> Advisory:
    return Advisory(field="hormone", sentence=sentence, standing=COMMON_PRACTICE, urgent=True)
