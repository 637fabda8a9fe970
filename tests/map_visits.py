"""Visits to pages with a map: the screens, the site that is visited, and all that a page complains about."""

from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Page, expect

DESK = {"viewport": {"width": 1440, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@dataclass
class MapSite:
    """The running site, one job, and a person who is logged in."""

    url: str
    session: str
    job: str
    bore: str
    empty: str


@dataclass
class MapVisit:
    """A page in a context of its own, with what it complained about and every address it asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def open(self, address: str) -> Page:
        self.page.goto(address)
        expect(self.page.locator(".map.is-drawn")).to_be_visible()
        return self.page
