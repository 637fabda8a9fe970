"""The environment of packages: made when missing or broken, refreshed when the pins change."""

from pathlib import Path

import pytest

from config import virtual_environment
from config.checkout import Checkout, SetUpError, kept_text


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Checkout:
    """A checkout with an environment in which nothing is installed."""
    checkout = Checkout(tmp_path_factory.mktemp("checkout"))
    (checkout.root / "base.txt").write_text("# nothing\n")
    (checkout.root / "pins.txt").write_text("-r base.txt\n")
    virtual_environment.bring_up_to_date(checkout, checkout.root / "pins.txt")
    return checkout


def test_an_environment_that_was_made_works_and_is_current(made: Checkout) -> None:
    assert virtual_environment.works(made)
    assert virtual_environment.is_current(made, made.root / "pins.txt")


def test_it_is_not_this_one(made: Checkout) -> None:
    assert not virtual_environment.is_inside(made)


def test_a_changed_pin_makes_it_out_of_date_also_in_an_included_file(made: Checkout) -> None:
    (made.root / "base.txt").write_text("# something\n")
    assert not virtual_environment.is_current(made, made.root / "pins.txt")
    virtual_environment.bring_up_to_date(made, made.root / "pins.txt")
    assert virtual_environment.is_current(made, made.root / "pins.txt")


def test_a_package_that_cannot_be_installed_is_told_and_not_taken_for_installed(made: Checkout) -> None:
    pins = made.root / "wrong.txt"
    pins.write_text("./no-such-folder\n")
    with pytest.raises(SetUpError, match=r"could not install wrong\.txt"):
        virtual_environment.bring_up_to_date(made, pins)
    assert not virtual_environment.is_current(made, pins)


def test_an_environment_cut_off_half_way_is_made_anew(made: Checkout) -> None:
    packages = next(made.virtual_environment.glob("lib/python*/site-packages"))
    (packages / "pip").rename(packages / "pip-gone")
    assert not virtual_environment.works(made)
    virtual_environment.bring_up_to_date(made, made.root / "pins.txt")
    assert virtual_environment.works(made)
    assert not list(made.virtual_environment.glob("lib/python*/site-packages/pip-gone"))


def test_no_environment_does_not_work(tmp_path: Path) -> None:
    assert not virtual_environment.works(Checkout(tmp_path))


def test_a_key_is_made_once_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    checkout = Checkout(tmp_path)
    key = checkout.secret_key()
    assert checkout.secret_key() == key
    assert len(key) >= 50
    assert (checkout.run_folder / "secret_key").stat().st_mode & 0o777 == 0o600
    assert checkout.run_folder.stat().st_mode & 0o777 == 0o700


def test_of_two_makers_of_a_private_text_both_give_the_firsts(tmp_path: Path) -> None:
    path = tmp_path / "text"

    def make_while_another_is_faster() -> str:
        kept_text(path, lambda: "first")
        return "second"

    assert kept_text(path, make_while_another_is_faster) == "first"
    assert [entry.name for entry in tmp_path.iterdir()] == ["text"]
