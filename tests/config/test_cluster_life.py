"""The private cluster is made once, keeps its data, and is nobody else's; on a real PostgreSQL."""

import os
import shutil
import stat
import subprocess
import sys

import pytest

from config.checkout import Checkout, SetUpError
from config.cluster import NAME, SOCKET_PATH_LIMIT_BYTES, Cluster
from tests.config.clean_shell import PROJECT
from tests.config.questions import ask

START = (
    "import sys; from pathlib import Path;"
    "from config.checkout import Checkout; from config.cluster import Cluster;"
    "print(Cluster.of(Checkout(Path(sys.argv[1]))).start('test'))"
)


def test_a_first_start_makes_a_database_with_postgis_and_a_second_finds_it(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    assert cluster.start("test") is True
    assert ask(cluster, "SELECT ST_AsText(ST_MakePoint(1, 2))") == "POINT(1 2)"
    assert cluster.start("test") is False


def test_a_stopped_cluster_keeps_its_data(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.start("test")
    ask(cluster, "CREATE TABLE kept AS SELECT 42 AS answer")
    assert cluster.stop() is True
    assert cluster.is_ready() is False
    assert cluster.stop() is False
    assert cluster.start("test") is True
    assert ask(cluster, "SELECT answer FROM kept") == "42"


def test_it_listens_on_a_socket_in_a_closed_folder_and_on_no_port(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.start("test")
    assert ask(cluster, "SHOW listen_addresses") == ""
    assert stat.S_IMODE(cluster.socket_folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(cluster.data.stat().st_mode) == 0o700


def test_it_never_runs_as_root(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.start("test")
    assert os.stat(f"/proc/{cluster.server_pid()}").st_uid != 0


def test_the_callers_postgres_variables_do_not_lead_it_astray(
    checkout: Checkout, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PGHOST", "/nonexistent")
    monkeypatch.setenv("PGOPTIONS", "-c nonsense=1")
    cluster = Cluster.of(checkout)
    assert cluster.start("test") is True


@pytest.mark.parametrize("name", ["with blanks and 'quotes'", 'a "comma", $(exit 1) `too`', "ünï"])
def test_a_path_with_blanks_and_quotes_works(checkout: Checkout, name: str) -> None:
    folder = checkout.root / name
    folder.mkdir()
    cluster = Cluster.of(Checkout(folder))
    try:
        assert cluster.start("test") is True
        assert ask(cluster, "SELECT 1") == "1"
    finally:
        cluster.remove()


def test_a_path_too_long_for_a_socket_gets_a_short_closed_folder(checkout: Checkout) -> None:
    folder = checkout.root / ("long" * 30)
    folder.mkdir()
    cluster = Cluster.of(Checkout(folder))
    try:
        cluster.start("test")
        assert len(os.fsencode(cluster.socket_folder)) < SOCKET_PATH_LIMIT_BYTES
        assert stat.S_IMODE(cluster.socket_folder.stat().st_mode) == 0o700
        assert ask(cluster, "SELECT 1") == "1"
    finally:
        cluster.remove()
    assert not cluster.socket_folder.exists()


def test_a_checkout_under_a_closed_folder_works_too(checkout: Checkout) -> None:
    closed = checkout.root / "closed"
    closed.mkdir(mode=0o700)
    inner = Checkout(closed / "checkout")
    inner.root.mkdir()
    cluster = Cluster.of(inner)
    try:
        assert cluster.start("test") is True
        ask(cluster, "CREATE TABLE kept AS SELECT 1")
        # Root's cluster lies in its account's home then, and the link leads there; a user's lies inside.
        assert Cluster.of(inner).folder == cluster.folder
        assert cluster.folder.is_relative_to(inner.root) is (os.geteuid() != 0)
    finally:
        cluster.remove()
    assert not (inner.root / ".pg.link").exists()


def test_a_copy_of_a_checkout_gets_a_database_of_its_own(checkout: Checkout) -> None:
    closed = checkout.root / "closed"
    closed.mkdir(mode=0o700)
    first, second = Checkout(closed / "first"), Checkout(closed / "second")
    first.root.mkdir()
    Cluster.of(first).start("test")
    try:
        if (first.root / ".pg.link").exists():
            second.root.mkdir()
            shutil.copy(first.root / ".pg.link", second.root / ".pg.link")
        else:
            Cluster.of(first).stop()
            shutil.copytree(first.root, second.root)
            Cluster.of(first).start("test")
        Cluster.of(second).start("test")
        assert Cluster.of(second).server_pid() not in {None, Cluster.of(first).server_pid()}
    finally:
        Cluster.of(second).remove()
        Cluster.of(first).remove()


def test_a_moved_checkout_finds_its_database_again(checkout: Checkout) -> None:
    closed = checkout.root / "closed"
    closed.mkdir(mode=0o700)
    (closed / "old").mkdir()
    cluster = Cluster.of(Checkout(closed / "old"))
    cluster.start("test")
    ask(cluster, "CREATE TABLE kept AS SELECT 7 AS answer")
    cluster.stop()
    (closed / "old").rename(closed / "new")
    moved = Cluster.of(Checkout(closed / "new"))
    try:
        moved.start("test")
        assert ask(moved, "SELECT answer FROM kept") == "7"
    finally:
        moved.remove()


def test_several_starts_at_once_make_one_server(checkout: Checkout) -> None:
    starts = [
        subprocess.Popen(
            [sys.executable, "-c", START, checkout.root], cwd=PROJECT, stdout=subprocess.PIPE, text=True
        )
        for _ in range(4)
    ]
    told = sorted(start.communicate()[0].strip() for start in starts)
    assert [start.returncode for start in starts] == [0, 0, 0, 0]
    assert told == ["False", "False", "False", "True"]


def test_the_server_does_not_keep_the_lock_of_the_one_that_started_it(checkout: Checkout) -> None:
    Cluster.of(checkout).start("test")
    with checkout.lock("database", wait=False):
        pass


def test_a_folder_of_another_account_is_refused(checkout: Checkout) -> None:
    if os.geteuid() == 0:
        (checkout.root / "elsewhere").mkdir()
        (checkout.root / ".pg").symlink_to(checkout.root / "elsewhere")
    else:
        (checkout.root / ".pg").symlink_to("/usr")
    with pytest.raises(SetUpError, match="is not a folder of account"):
        Cluster.of(checkout).start("test")
    (checkout.root / ".pg").unlink()


def test_data_of_a_version_that_is_not_installed_says_so(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.start("test")
    cluster.stop()
    (cluster.data / "PG_VERSION").write_text("9\n")
    with pytest.raises(SetUpError, match="PostgreSQL 9 with PostGIS"):
        cluster.start("test")


def test_the_url_names_the_role_and_the_socket(checkout: Checkout) -> None:
    url = Cluster.of(checkout).url
    assert url.startswith(f"postgres://{NAME}@/{NAME}?host=/")
    assert str(checkout.root) in url
