"""What a run needs and does not find is said in words, with what to do; it is never left out."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from deploy.scripts import browser, demo, packages, postgres, python_env
from deploy.scripts.running import GiveUp


def refuse_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packages.os, "geteuid", lambda: 1000)


def test_a_browser_by_name(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    program = tmp_path / "our-chromium"
    program.touch(mode=0o755)
    monkeypatch.setenv("CHROMIUM", str(program))
    assert browser.find_chromium() == str(program)


def test_a_browser_that_is_not_there_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHROMIUM", "no-such-browser")
    with pytest.raises(GiveUp, match="CHROMIUM names no program: no-such-browser"):
        browser.ensure_chromium()


def test_no_browser_is_a_failure(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    refuse_to_install(monkeypatch)
    with pytest.raises(GiveUp, match="need Chromium"):
        browser.ensure_chromium()


def test_no_postgresql_is_a_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(postgres, "find_programs", lambda: None)
    refuse_to_install(monkeypatch)
    with pytest.raises(GiveUp, match="need PostgreSQL 15 or later"):
        postgres.ensure_programs()


def test_postgresql_is_not_sought_past_the_folder_that_was_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PG_BINDIR", str(tmp_path))
    with pytest.raises(GiveUp, match="PG_BINDIR holds no initdb"):
        postgres.ensure_programs()


def test_an_old_postgresql_is_a_failure(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    program = tmp_path / "initdb"
    program.write_text("#!/bin/sh\necho 'initdb (PostgreSQL) 14.9'\n")
    program.chmod(0o755)
    monkeypatch.setenv("PG_BINDIR", str(tmp_path))
    with pytest.raises(GiveUp, match=r"PostgreSQL 15 or later is needed.*14\.9"):
        postgres.ensure_programs()


def test_a_missing_lock_is_named(tmp_path: Path) -> None:
    with pytest.raises(GiveUp, match=r"none\.lock is missing: deploy/lock makes it"):
        python_env.ensure(tmp_path / "none.lock")


def test_a_taken_port_is_named_with_another(monkeypatch: pytest.MonkeyPatch) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(GiveUp, match=f"Port {port} can't be used.*--port {port + 1}"):
            demo.check_port(port)
    demo.check_port(port)


@pytest.mark.parametrize("text", ["0", "65536", "-1", "eighty"])
def test_what_is_no_port_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=text):
        demo.port_number(text)


def test_a_second_demonstration_does_not_take_the_firsts_database(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(demo, "VAR", tmp_path)
    monkeypatch.setattr(demo, "LOCK", tmp_path / "demonstration.lock")
    with demo.claim(), pytest.raises(GiveUp, match="already running"):
        demo.claim()
    demo.claim().close()


def test_an_environment_that_is_only_linked_to_is_not_made_anew(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Making it anew clears the folder, and so would take somebody else's."""
    theirs = tmp_path / "theirs"
    theirs.mkdir()
    (theirs / "kept").touch()
    (tmp_path / "lock").touch()
    (tmp_path / ".venv").symlink_to(theirs)
    monkeypatch.setattr(python_env, "FOLDER", tmp_path / ".venv")
    monkeypatch.setattr(python_env, "STAMP", tmp_path / ".venv" / "made-from")
    with pytest.raises(GiveUp, match="not ours to make anew"):
        python_env.ensure(tmp_path / "lock")
    assert (theirs / "kept").exists()
