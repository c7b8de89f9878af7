"""Passwords: never so many hashed at once that memory runs out."""

from __future__ import annotations

import threading
import time

from django.contrib.auth.hashers import Argon2PasswordHasher, check_password, identify_hasher, make_password

from training.hashing import AT_ONCE, Argon2InTurns


def test_the_site_hashes_in_turns(settings):
    settings.PASSWORD_HASHERS = site_hashers()

    assert isinstance(identify_hasher(make_password("correct horse battery")), Argon2InTurns)


def test_a_password_of_django_s_own_figures_is_still_known(settings):
    settings.PASSWORD_HASHERS = site_hashers()
    before = Argon2PasswordHasher().encode("correct horse battery", "a salt of sixteen")

    assert check_password("correct horse battery", before)


def site_hashers():
    from training.settings import PASSWORD_HASHERS

    return PASSWORD_HASHERS


def test_all_at_once_stay_within_a_quarter_of_a_gibibyte():
    assert Argon2InTurns.memory_cost * 1024 * AT_ONCE == 256 * 2**20


def test_the_others_wait(monkeypatch):
    inside, most = [], []

    def slowly(self, password, encoded):
        inside.append(1)
        most.append(len(inside))
        time.sleep(0.02)
        inside.pop()

    monkeypatch.setattr(Argon2PasswordHasher, "verify", slowly)
    threads = [threading.Thread(target=Argon2InTurns().verify, args=("x", "y")) for _ in range(4 * AT_ONCE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert (len(most), max(most)) == (4 * AT_ONCE, AT_ONCE)
