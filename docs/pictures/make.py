"""Makes the pictures of this folder, from the example job and the engine: `make pictures`."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2
import signatures
from PIL import Image

from gaugewright.cli import main

HERE = Path(__file__).parent
DOTS_PER_POINT = 1.5


def picture(pdf: Path, page: int, into: Path) -> None:
    """One page of a PDF as a PNG with a thin edge and few colours."""
    document = pypdfium2.PdfDocument(pdf)
    image = document[page].render(scale=DOTS_PER_POINT).to_pil().convert("RGB")
    document.close()
    framed = Image.new("RGB", (image.width + 2, image.height + 2), (203, 192, 170))
    framed.paste(image, (1, 1))
    few = framed.quantize(128, Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    few.save(into, optimize=True)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        main(["demo", "--folder", folder])
        results = Path(folder) / "tick-at-hot-idle-results"
        picture(results / "handover.pdf", 0, HERE / "handover.png")
        picture(results / "record.pdf", 0, HERE / "record.png")
    signatures.draw(HERE)
