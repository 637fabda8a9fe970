"""Pictures as SVG text: elements with their attributes, every text escaped."""

from dataclasses import dataclass
from html import escape


@dataclass(frozen=True)
class Element:
    """One element of a picture: its attributes, and the elements and words in it."""

    name: str
    attributes: tuple[tuple[str, str], ...]
    children: tuple["Element | str", ...]

    def text(self) -> str:
        """The element as markup."""
        parts = [f"<{self.name}"]
        parts += [f' {name}="{escape(value)}"' for name, value in self.attributes]
        if not self.children:
            return "".join([*parts, "/>"])
        inner = (escape(one) if isinstance(one, str) else one.text() for one in self.children)
        return "".join([*parts, ">", *inner, f"</{self.name}>"])


def element(name: str, *children: Element | str, **attributes: str | float) -> Element:
    """An element; ``class_`` is its class, and underscores in a name stand for hyphens."""
    named = tuple(
        (key.rstrip("_").replace("_", "-"), value if isinstance(value, str) else px(value))
        for key, value in attributes.items()
    )
    # SVG writes this attribute in camel case, which hyphens cannot say.
    spelled = tuple((CAMEL.get(key, key), value) for key, value in named)
    return Element(name, spelled, children)


CAMEL = {"viewbox": "viewBox"}


def px(length_px: float) -> str:
    """A length of the picture to a tenth of its unit."""
    shown = f"{length_px:.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def points(places_px: list[tuple[float, float]]) -> str:
    """Places as the points of a polyline, those that fall together taken once."""
    shown: list[str] = []
    for x, y in places_px:
        place = f"{px(x)},{px(y)}"
        if not shown or shown[-1] != place:
            shown.append(place)
    return " ".join(shown)
