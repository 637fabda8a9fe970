"""Reading a PDF back: its text, pictures, tags, fonts and metadata."""

import ctypes
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pypdfium2 as pdfium
import pypdfium2.raw as raw
from PIL import Image


@contextmanager
def pages_of(content: bytes) -> Iterator[Iterator[pdfium.PdfPage]]:
    """The pages of a document, each closed when the next is asked for."""
    document = pdfium.PdfDocument(content)

    def one_by_one() -> Iterator[pdfium.PdfPage]:
        for number in range(len(document)):
            page = document[number]
            yield page
            page.close()

    try:
        yield one_by_one()
    finally:
        document.close()


def page_texts(content: bytes) -> list[str]:
    """The text of each page without white space, since a line may be broken anywhere."""
    texts = []
    with pages_of(content) as pages:
        for page in pages:
            text = page.get_textpage()
            texts.append(squeezed(text.get_text_bounded()))
            text.close()
    return texts


def squeezed(text: str) -> str:
    """A text without white space, and without the sign that stands for a broken word."""
    return re.sub(r"[\s\N{SOFT HYPHEN}\uFFFE\x02]+", "", text)


def photo_count(content: bytes) -> int:
    """How many photos the pages show: drawings are no images."""
    with pages_of(content) as pages:
        return sum(
            1 for page in pages for _ in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE], max_depth=8)
        )


def photo_files(content: bytes) -> list[bytes]:
    """The files of the photos as they are kept in the document, page by page."""
    found = []
    with pages_of(content) as pages:
        for page in pages:
            for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE], max_depth=8):
                size = raw.FPDFImageObj_GetImageDataRaw(one.raw, None, 0)
                held = ctypes.create_string_buffer(size)
                raw.FPDFImageObj_GetImageDataRaw(one.raw, held, size)
                found.append(held.raw)
    return found


def pictured(content: bytes, number: int) -> Image.Image:
    """A page as it looks, 144 points to the inch."""
    document = pdfium.PdfDocument(content)
    try:
        page = document[number]
        picture = page.render(scale=2).to_pil().convert("RGB")
        page.close()
    finally:
        document.close()
    return picture


def tags_of(content: bytes) -> list[tuple[str, str]]:
    """Every element of the structure with its words for who does not see it, page by page."""
    found: list[tuple[str, str]] = []
    with pages_of(content) as pages:
        for page in pages:
            tree = raw.FPDF_StructTree_GetForPage(page.raw)
            for index in range(raw.FPDF_StructTree_CountChildren(tree)):
                _walk(raw.FPDF_StructTree_GetChildAtIndex(tree, index), found)
            raw.FPDF_StructTree_Close(tree)
    return found


def _walk(element: object, found: list[tuple[str, str]]) -> None:
    if not element:
        return
    found.append(
        (_said(raw.FPDF_StructElement_GetType, element), _said(raw.FPDF_StructElement_GetAltText, element))
    )
    for index in range(max(0, raw.FPDF_StructElement_CountChildren(element))):
        _walk(raw.FPDF_StructElement_GetChildAtIndex(element, index), found)


def _said(ask: Callable[..., int], element: object) -> str:
    size = ask(element, None, 0)
    held = ctypes.create_string_buffer(size)
    ask(element, held, size)
    return held.raw.decode("utf-16-le").rstrip("\0")


def metadata_of(content: bytes) -> dict[str, str]:
    """Title, author and the like; what the file does not say is left out."""
    document = pdfium.PdfDocument(content)
    try:
        return document.get_metadata_dict(skip_empty=True)
    finally:
        document.close()


def fonts_of(content: bytes) -> dict[str, bool]:
    """The faces that the pages' text is set in, and whether each is in the file."""
    found: dict[str, bool] = {}
    with pages_of(content) as pages:
        for page in pages:
            for piece in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=8):
                font = raw.FPDFTextObj_GetFont(piece.raw)
                size = raw.FPDFFont_GetBaseFontName(font, None, 0)
                name = ctypes.create_string_buffer(size)
                raw.FPDFFont_GetBaseFontName(font, name, size)
                found[name.value.decode()] = raw.FPDFFont_GetIsEmbedded(font) == 1
    return found


def is_tagged(content: bytes) -> bool:
    """Whether the document says that it has a structure."""
    document = pdfium.PdfDocument(content)
    try:
        return bool(raw.FPDFCatalog_IsTagged(document.raw))
    finally:
        document.close()


def language_of(content: bytes) -> str:
    """The language that the document says it is in."""
    document = pdfium.PdfDocument(content)
    try:
        size = raw.FPDFCatalog_GetLanguage(document.raw, None, 0)
        held = ctypes.create_string_buffer(size)
        raw.FPDFCatalog_GetLanguage(document.raw, ctypes.cast(held, ctypes.POINTER(ctypes.c_ushort)), size)
        return held.raw.decode("utf-16-le").rstrip("\0")
    finally:
        document.close()
