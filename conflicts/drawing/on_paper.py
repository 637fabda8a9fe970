"""A picture of the pages as a file of its own for paper: with its inks, and the signs that it uses."""

import re

# Paper has no style sheet of the site: inks and paint of static/base/tokens.css, written out.
PAINT = {
    "electric": ("#c8102e", "#ffffff"),
    "gas_oil_steam": ("#ffd100", "#16211f"),
    "communication": ("#f38b2a", "#16211f"),
    "potable_water": ("#0a55b5", "#ffffff"),
    "reclaimed_water": ("#73308f", "#ffffff"),
    "sewer_drain": ("#00743a", "#ffffff"),
    "unknown": ("#e3e6e4", "#16211f"),
}
INK, SOFT, RULE, ACCENT, STOP, PANEL = "#16211f", "#4b5955", "#c3cdc8", "#0b5562", "#8c2417", "#f2f5f2"

_PAINTED = "".join(
    f".paint-{kind} .body,.paint-{kind} .letter-box,.paint-{kind} .error,.paint-{kind} .unknown-band,"
    f".paint-{kind}.zone,.paint-{kind}.painted-point{{fill:{paint}}}"
    f".paint-{kind}.line-paint{{stroke:{paint}}}.paint-{kind} .letter{{fill:{ink}}}"
    for kind, (paint, ink) in PAINT.items()
)

STYLE = (
    f"text{{font-family:'DejaVu Sans';font-size:12px;fill:{INK};stroke:none}}"
    f".tick{{fill:{SOFT}}}.question,.letter,.north-name,.number{{font-weight:bold}}"
    ".ref,.end-name{font-weight:bold}"
    ".middle{text-anchor:middle}.start{text-anchor:start}.end{text-anchor:end}"
    f".grid{{stroke:{RULE};stroke-width:.5}}.axis{{stroke:{INK};stroke-width:1}}.paper,.target{{fill:none}}"
    f".earth{{fill:{PANEL}}}.ground{{fill:none;stroke:{INK};stroke-width:2}}"
    f".cover{{fill:none;stroke:{SOFT};stroke-dasharray:10 4 2 4}}"
    f".pit{{fill:#fff;stroke:{INK}}}.pit-plan{{fill:none;stroke:{INK};stroke-dasharray:6 3}}"
    f".shaft{{fill:#fff;fill-opacity:.7;stroke:{SOFT}}}.shaft-found{{stroke:{INK};stroke-width:2}}"
    f".shaft-miss,.missed{{fill:none;stroke:{STOP};stroke-width:2}}"
    f".hole-band{{fill:{ACCENT};fill-opacity:.16;stroke:{ACCENT};stroke-width:.75}}"
    ".hole-band{stroke-dasharray:3 2}"
    f".hole{{fill:{ACCENT};stroke:{ACCENT};stroke-width:.5}}"
    ".drawing .hole{fill-opacity:.7;stroke-width:1.5}"
    f".drilled-band{{fill:{INK};fill-opacity:.14;stroke:none}}.drilled-edge{{fill:none;stroke:#fff;stroke-width:5}}"
    f".drilled{{fill:none;stroke:{INK};stroke-width:2.5}}.drilled-head{{fill:{INK};stroke:#fff;stroke-width:1.5}}"
    f".abandoned{{fill:none;stroke:{INK};stroke-width:1.5;stroke-dasharray:2 4}}"
    f".abandoned-end{{fill:none;stroke:{INK};stroke-width:2}}"
    f".body{{stroke:{INK};stroke-width:.75}}"
    f".error{{fill-opacity:.3;stroke:{SOFT};stroke-width:.5;stroke-dasharray:2 2}}"
    f".ring{{fill:none;stroke:{INK}}}.centre{{fill:none;stroke:{INK};stroke-width:.75}}"
    f".unknown-band{{fill-opacity:.18;stroke:{INK};stroke-dasharray:4 3}}"
    f".leader{{fill:none;stroke:{SOFT};stroke-width:.75}}.letter-box{{stroke:{INK}}}.letter{{font-size:11px}}"
    f".shape-fill{{fill:{STOP}}}"
    f".shape-cut{{fill:none;stroke:#fff;stroke-width:2.5}}"
    f".shape-line{{fill:none;stroke:{STOP};stroke-width:2}}.shape-dashed{{stroke-dasharray:3 2.5}}"
    f".is-clear .shape-line{{stroke:{ACCENT}}}"
    f".way-halo{{stroke:#fff;stroke-width:4}}.way-left{{stroke:{INK};stroke-width:1.5}}"
    f".way-taken{{stroke:{STOP};stroke-width:1.5;stroke-dasharray:3 2}}"
    f".balloon{{fill:#fff;stroke:{INK}}}.balloon-number{{font-size:11px;font-weight:bold}}"
    f".scale-bar{{fill:none;stroke:{INK};stroke-width:1.5}}"
    ".zone{fill-opacity:.14;stroke:none}"
    f".line-edge{{fill:none;stroke:{INK};stroke-width:3.4}}.line-paint{{fill:none;stroke-width:2}}"
    f".painted-point{{stroke:{INK}}}.bore-edge{{fill:none;stroke:#fff}}.bore-line{{fill:none;stroke:{ACCENT}}}"
    f".bore-end{{fill:#fff;stroke:{ACCENT};stroke-width:2}}"
    f".hole-found{{fill:#fff;stroke:{INK};stroke-width:1.4}}.crossing-point{{fill:{INK}}}"
    f".balloon.is-open{{fill:{STOP};stroke:{STOP}}}.number{{font-size:9px}}.number.is-open{{fill:#fff}}"
    f".line-ref{{font-size:9.5px}}.end-name{{font-size:11px}}.sheet-edge{{fill:#fff;stroke:{INK}}}"
    f".bar-dark{{fill:{INK};stroke:{INK}}}.bar-light{{fill:#fff;stroke:{INK}}}.north{{fill:{INK}}}"
    f"{_PAINTED}"
)

# Each rule by the classes that an element needs for one of its selectors; empty for what any element may be.
_RULES = tuple(
    (
        tuple(frozenset(re.findall(r"\.([a-z_-]+)", one)) for one in selectors.split(",")),
        f"{selectors}{{{body}}}",
    )
    for selectors, body in re.findall(r"([^{}]+)\{([^}]*)\}", STYLE)
)

SIGNS = {
    "overlap": '<path class="shape-fill" d="M8 2h8l6 6v8l-6 6H8l-6-6V8z"/>'
    '<path class="shape-cut" d="M8 8l8 8M16 8l-8 8"/>',
    "unexposed": '<circle class="shape-line shape-dashed" cx="12" cy="12" r="9.5"/>'
    '<path class="shape-line" d="M12 6.5v10M8 13l4 4 4-4"/>',
    "stale": '<path class="shape-line" d="M5 3h14v3l-5 6 5 6v3H5v-3l5-6-5-6z"/>',
    "short": '<path class="shape-fill" d="M12 2l11 20H1z"/><path class="shape-cut" d="M12 9v6M12 17.4v2.2"/>',
    "clear": '<circle class="shape-line" cx="12" cy="12" r="9.5"/>'
    '<path class="shape-line" d="M7.5 12.5l3 3 6-7"/>',
    "holds": '<path class="shape-fill" d="M8 2h8l6 6v8l-6 6H8l-6-6V8z"/>'
    '<path class="shape-cut" d="M7 12h10"/>',
}

_USE = re.compile(
    r'<use href="#verdict-(?P<sign>[a-z]+)" x="(?P<x>[\d.-]+)" y="(?P<y>[\d.-]+)" '
    r'width="(?P<size>[\d.]+)" height="[\d.]+" class="sign"/>'
)


def on_paper(svg: str) -> str:
    """A picture of `conflicts.drawing` as a file of its own.

    Parameters
    ----------
    svg : str
        Markup of ours, in which every text is escaped: an angle bracket in it always begins an element.

    Returns
    -------
    str
        With the styles that it uses; links are plain groups, and signs are drawn where they were only named.
    """
    drawn = _USE.sub(_sign, svg).replace("<a ", "<g ").replace("</a>", "</g>")
    head, rest = drawn.split(">", 1)
    named = head.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    return f"{named}><style>{_style_of(drawn)}</style>{rest}"


def sign_alone(sign: str) -> str:
    """The shape of a verdict, or of what holds, as a picture of its own."""
    state = ' class="is-clear"' if sign == "clear" else ""
    return on_paper(f'<svg viewBox="0 0 24 24" width="24" height="24"><g{state}>{SIGNS[sign]}</g></svg>')


def _style_of(svg: str) -> str:
    """The rules that an element of a picture may fall under: a renderer tries each rule on each element."""
    used = {name for names in re.findall(r'class="([^"]*)"', svg) for name in names.split()}
    return "".join(rule for needed, rule in _RULES if any(one <= used for one in needed))


def _sign(use: re.Match[str]) -> str:
    size = float(use["size"]) / 24.0
    return f'<g transform="translate({use["x"]} {use["y"]}) scale({size:.4f})">{SIGNS[use["sign"]]}</g>'
