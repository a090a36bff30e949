"""PDFs of an invented map, and one that would be painted for minutes."""

from __future__ import annotations

import io
import zlib

from PIL import Image, ImageDraw


def pdf_of(*sizes: tuple[int, int]) -> bytes:
    """A PDF with a page of each size in pixels, and a bar on it."""
    pages = [Image.new("RGB", size, "#dfe8d2") for size in sizes]
    for page in pages:
        ImageDraw.Draw(page).line([(10, 10), (page.width - 10, 10)], fill="black", width=4)
    data = io.BytesIO()
    pages[0].save(data, "PDF", save_all=True, append_images=pages[1:])
    return data.getvalue()


def bomb(many: int = 200_000_000) -> bytes:
    """A page whose drawing unpacks to so many bytes of one line drawn over and over."""
    line = b"0 0 m 9 9 l S "
    packer = zlib.compressobj(9)
    stream = b"".join(packer.compress(line * 70_000) for _ in range(many // (len(line) * 70_000)))
    stream += packer.flush()
    parts = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 600 400]/Contents 4 0 R>>",
        b"<</Filter/FlateDecode/Length %d>>stream\n%s\nendstream" % (len(stream), stream),
    ]
    body = b"".join(b"%d 0 obj%s endobj\n" % (n, part) for n, part in enumerate(parts, 1))
    return b"%PDF-1.4\n" + body + b"trailer<</Root 1 0 R>>"
