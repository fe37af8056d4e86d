"""What a password must be: long enough, and not the first thing anybody would try.

No rule about kinds of characters, nothing cut off, nothing folded: it counts as it was typed.
"""

from typing import Final

from app.domain.people import name_key
from app.domain.problems import NotAccepted

SHORTEST: Final = 10
LONGEST: Final = 200
_FEWEST_KINDS: Final = 4
_FIRST_GUESSES: Final = ("password", "strikewell", "qwertyuiop", "1234567890", "cuttings")


def accepted_password(password: str, *, name: str, field: str = "password") -> str:
    """Return the password unchanged.

    Raises:
        NotAccepted: it is shorter than 10 or longer than 200 characters, made of fewer than four
            different ones, or little more than the person's name or another first guess.
    """
    if len(password) < SHORTEST:
        sentence = f"Use at least {SHORTEST} characters; a few words in a row are easy to keep."
        raise NotAccepted.at(field, sentence)
    if len(password) > LONGEST:
        raise NotAccepted.at(field, f"Use at most {LONGEST} characters.")
    if len(set(password)) < _FEWEST_KINDS or _is_first_guess(password, name=name):
        sentence = "That is one of the first things anybody would try. Use a few words of your own."
        raise NotAccepted.at(field, sentence)
    return password


def _is_first_guess(password: str, *, name: str) -> bool:
    """Return whether little is left of the password once a guess and all numbers are taken out."""
    letters = "".join(sign for sign in name_key(password) if sign.isalnum())
    parts = name_key(name).split()
    guesses = [*_FIRST_GUESSES, "".join(parts), *parts]
    left = letters
    for guess in sorted(guesses, key=len, reverse=True):
        left = left.replace(guess, "")
    return left != letters and len(left.strip("0123456789")) < _FEWEST_KINDS
