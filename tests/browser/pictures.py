"""Makes the README's pictures of the bore page, at a desk and on a phone, from a running demo.

Run by hand, with the project's own Python, while ``python3 manage.py demo`` runs in the same folder:

    .venv/bin/python tests/browser/pictures.py

It logs in as the demo's foreman, opens the bore of which most is missing, and writes bore_desk.png,
bore_desk_profile.png and bore_phone.png to static/base/pictures, each of few colours so that it stays small.
Another site is named by ``--address``, and the file of its logins by ``--logins``.
"""

import argparse
import json
import os
import shutil
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parent.parent.parent
PICTURES = ROOT / "static" / "base" / "pictures"
# Width, height, and the part of the page that stands at the top.
SCREENS = {
    "bore_desk": (1440, 900, ""),
    "bore_desk_profile": (1440, 900, "#profile"),
    "bore_phone": (390, 844, ""),
}
JOB, BORE = "Quillmark Street", "Main run"
WHO = "foreman"
MOST_BYTES = 150_000
# Fewer colours make a smaller file: the first that fits is taken.
COLOURS = (256, 128, 64, 32)


def main() -> None:
    """Write a picture for each screen."""
    wanted = argparse.ArgumentParser(description="Makes the README's pictures from a running demo.")
    wanted.add_argument("--address", default=None, help="of the site; the demo's own otherwise")
    wanted.add_argument("--logins", type=Path, default=ROOT / ".run" / "logins.json")
    options = wanted.parse_args()
    address = options.address or (ROOT / ".run" / "address").read_text()
    password = json.loads(options.logins.read_text())[WHO]
    PICTURES.mkdir(exist_ok=True)
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for name, (width, height, part) in SCREENS.items():
            page = browser.new_page(viewport={"width": width, "height": height})
            open_bore(page, address.rstrip("/"), password)
            page.goto(page.url + part)
            page.wait_for_load_state("networkidle")
            path = PICTURES / f"{name}.png"
            path.write_bytes(small_png(page.screenshot()))
            print(f"{path.relative_to(ROOT)}: {path.stat().st_size / 1000:.0f} kB")
            page.close()
        browser.close()


def open_bore(page: Page, address: str, password: str) -> None:
    """Log in and go to the bore, as a person would."""
    page.goto(f"{address}/login/")
    page.get_by_label("User name").fill(WHO)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Log in").click()
    page.get_by_role("link", name=JOB).first.click()
    page.get_by_role("link", name=BORE, exact=True).first.click()
    page.get_by_role("heading", name=BORE, level=1).wait_for()


def small_png(picture: bytes) -> bytes:
    """The picture in as many colours as its most bytes allow."""
    with Image.open(BytesIO(picture)) as image:
        plain = image.convert("RGB")
    for colours in COLOURS:
        small = BytesIO()
        plain.quantize(colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(
            small, "PNG", optimize=True
        )
        if small.tell() <= MOST_BYTES:
            return small.getvalue()
    raise SystemExit(f"The picture stays over {MOST_BYTES} bytes even in {COLOURS[-1]} colours.")


if __name__ == "__main__":
    main()
