"""Hashing of passwords.

The least cost is that of the OWASP Password Storage Cheat Sheet for Argon2id: 19 MiB of memory,
two iterations, one degree of parallelism (CONFIRMED, its sentence as quoted by others).
"""

import time

from argon2 import PasswordHasher, extract_parameters

from app.services import passwords
from app.services.passwords import hash_password, needs_rehash, password_matches

PASSWORD = "mist bench in the morning"


def test_the_cost_is_at_least_what_is_recommended() -> None:
    cost = extract_parameters(hash_password(PASSWORD))
    assert cost.type.name == "ID"
    assert cost.memory_cost >= 19 * 1024
    assert cost.time_cost >= 2
    assert cost.parallelism >= 1


def test_a_password_matches_its_own_hash_only() -> None:
    stored = hash_password(PASSWORD)
    assert password_matches(stored, password=PASSWORD)
    assert not password_matches(stored, password=PASSWORD + " ")
    assert not password_matches(stored, password=PASSWORD.upper())
    assert hash_password(PASSWORD) != stored


def test_an_empty_or_broken_hash_matches_nothing() -> None:
    assert not password_matches("", password="")
    assert not password_matches("", password=PASSWORD)
    assert not password_matches("not a hash", password=PASSWORD)


def test_no_account_costs_as_much_as_a_wrong_password() -> None:
    stand_in = extract_parameters(passwords._NOBODYS)
    assert stand_in == extract_parameters(hash_password(PASSWORD))
    stored = hash_password(PASSWORD)
    times = []
    for password_hash in (stored, ""):
        best = min(_timed(password_hash) for _ in range(5))
        times.append(best)
    assert 0.3 < times[0] / times[1] < 3


def _timed(password_hash: str) -> float:
    begun = time.perf_counter()
    password_matches(password_hash, password="wrong")
    return time.perf_counter() - begun


def test_an_older_cost_is_noticed() -> None:
    old = PasswordHasher(time_cost=1, memory_cost=8192, parallelism=1).hash(PASSWORD)
    assert needs_rehash(old)
    assert password_matches(old, password=PASSWORD)
    assert not needs_rehash(hash_password(PASSWORD))
