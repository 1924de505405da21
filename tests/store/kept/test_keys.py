"""The keys of an installation are made once, whole, and for nobody else's eyes."""

import secrets
import stat
import subprocess
import sys
import threading
from itertools import count
from pathlib import Path

import pytest

from equip.store.database import CannotOpen
from equip.store.kept.keys import BadKey, Keys, keys_in

ROOT = Path(__file__).parents[3]


def test_the_first_run_makes_three_keys_that_only_their_owner_may_read(tmp_path: Path) -> None:
    keys = keys_in(tmp_path)

    files = sorted((tmp_path / "keys").iterdir())
    assert [file.name for file in files] == ["index", "secret", "vault"]
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
    assert stat.S_IMODE((tmp_path / "keys").stat().st_mode) == 0o700
    assert len({keys.vault, keys.index, keys.secret}) == 3


def test_the_next_run_finds_the_same_keys(tmp_path: Path) -> None:
    assert keys_in(tmp_path) == keys_in(tmp_path)


def test_two_installations_have_different_keys(tmp_path: Path) -> None:
    assert keys_in(tmp_path / "here").vault != keys_in(tmp_path / "there").vault


def test_a_key_that_others_can_read_is_refused(tmp_path: Path) -> None:
    keys_in(tmp_path)
    (tmp_path / "keys" / "index").chmod(0o640)

    with pytest.raises(BadKey, match=r"index can be read by others: set its mode to 0600\."):
        keys_in(tmp_path)


@pytest.mark.parametrize("length", [0, 31, 33])
def test_a_key_of_the_wrong_length_is_refused(tmp_path: Path, length: int) -> None:
    keys_in(tmp_path)
    (tmp_path / "keys" / "vault").write_bytes(b"k" * length)

    with pytest.raises(BadKey, match=f"vault has {length} bytes, not 32"):
        keys_in(tmp_path)


def test_a_bad_key_means_that_the_book_cannot_be_opened() -> None:
    """So that the command line says it in one sentence, as it does of a database."""
    assert issubclass(BadKey, CannotOpen)


def test_keys_never_show_themselves(tmp_path: Path) -> None:
    keys = keys_in(tmp_path)

    assert repr(keys.vault) not in repr(keys)
    assert keys.vault.hex() not in repr(keys)


def test_processes_that_begin_at_once_agree_on_the_keys(tmp_path: Path) -> None:
    work = (
        "import sys; from pathlib import Path; from equip.store.kept.keys import keys_in;"
        "keys = keys_in(Path(sys.argv[1])); print((keys.vault + keys.secret).hex())"
    )

    racers = [
        subprocess.Popen(
            [sys.executable, "-c", work, str(tmp_path)], cwd=ROOT, stdout=subprocess.PIPE
        )
        for _ in range(3)
    ]
    said = {racer.communicate(timeout=60)[0] for racer in racers}

    assert [racer.returncode for racer in racers] == [0, 0, 0]
    assert len(said) == 1
    assert sorted(file.name for file in (tmp_path / "keys").iterdir()) == [
        "index",
        "secret",
        "vault",
    ]


def test_two_that_make_the_same_key_in_the_same_instant_agree_on_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    both_are_making_it, calls, made = threading.Barrier(2), count(1), secrets.token_bytes

    def met(length: int) -> bytes:
        if next(calls) <= 2:
            both_are_making_it.wait(timeout=10)
        return made(length)

    monkeypatch.setattr(secrets, "token_bytes", met)
    found: list[Keys] = []

    threads = [threading.Thread(target=lambda: found.append(keys_in(tmp_path))) for _ in "ab"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert found[0] == found[1]
