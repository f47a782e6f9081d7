"""What a phone's camera sees, for tests: codes drawn, filmed, shown to a page, and truly read.

Codes are drawn and read by zxing-cpp (PyPI ``zxing-cpp``), an established reader of codes, in
place of the one that a browser may have: Debian's Chromium has none.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import segno
import zxingcpp
from playwright.sync_api import Page

WIDTH, HEIGHT = 640, 480
FORMATS = {
    "qr_code": zxingcpp.BarcodeFormat.QRCode,
    "data_matrix": zxingcpp.BarcodeFormat.DataMatrix,
    "code_128": zxingcpp.BarcodeFormat.Code128,
}
Grey = list[bytearray]

# A reader of codes in the page that hands each frame to the test's own reader. It keeps to the
# shape of the Shape Detection API (W3C community draft): a class, formats, detect().
STAND_IN = """
window.BarcodeDetector = class {
  static async getSupportedFormats() { return %s; }
  constructor({ formats }) { this.formats = formats; }
  async detect(video) {
    window.looked = (window.looked ?? 0) + 1;
    if (window.refuses) throw new DOMException("no service", "InvalidStateError");
    const { videoWidth: width, videoHeight: height } = video;
    if (!width) return [];
    const canvas = new OffscreenCanvas(width, height);
    const pen = canvas.getContext("2d");
    pen.drawImage(video, 0, 0);
    const { data } = pen.getImageData(0, 0, width, height);
    let grey = "";
    for (let at = 0; at < data.length; at += 4) grey += String.fromCharCode(data[at]);
    const texts = await window.readFrame(btoa(grey), width, height);
    return texts.map((rawValue) => ({ rawValue }));
  }
};
"""

# A camera that shows what window.shows(pen) draws.
CAMERA = """
window.tracks = [];
navigator.mediaDevices.getUserMedia = async (wanted) => {
  window.wanted = wanted;
  if (window.trouble) throw new DOMException("told so", window.trouble);
  if (window.hold) await new Promise((done) => { window.let = done; });
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [640, 480];
  const pen = canvas.getContext("2d");
  const draw = () => {
    const grey = window.frame ? atob(window.frame) : "";
    const picture = pen.createImageData(640, 480);
    for (let at = 0; at < 640 * 480; at += 1) {
      picture.data.fill(grey ? grey.charCodeAt(at) : 255, at * 4, at * 4 + 3);
      picture.data[at * 4 + 3] = 255;
    }
    pen.putImageData(picture, 0, 0);
  };
  draw();
  setInterval(draw, 100);
  const stream = canvas.captureStream(10);
  for (const track of stream.getTracks()) {
    window.tracks.push(track);
    if (window.torch) {
      track.getCapabilities = () => ({ torch: true });
      track.applyConstraints = async (asked) => { window.lit = asked.advanced[0].torch; };
    }
  }
  return stream;
};
"""


def blank() -> Grey:
    """Return a white frame, a row a byte string."""
    return [bytearray(b"\xff" * WIDTH) for _ in range(HEIGHT)]


def drawn(text: str, sort: str = "qr_code", on: Grey | None = None, top: int = 40) -> Grey:
    """Return a frame with a code for *text* on it, *top* rows from its upper edge.

    A text in brackets, ``(01)…(21)…``, becomes a GS1 code, with the marks that make it one.
    """
    if sort == "qr_code" and not text.startswith("(01)"):
        modules = [bytes(0 if dark else 255 for dark in row) for row in segno.make(text).matrix]
    else:
        code = zxingcpp.create_barcode(text, FORMATS[sort], gs1=text.startswith("(01)"))
        image: Any = code.to_image(scale=1)  # a buffer, which its types do not tell
        view = memoryview(image)
        flat, (height, width) = view.tobytes(), (view.shape or ())[:2]
        modules = [flat[at * width :][:width] for at in range(height)]
    frame = on or blank()
    scale = max(1, min(6, (WIDTH - 40) // len(modules[0]), (HEIGHT - top) // len(modules)))
    for y in range(len(modules) * scale):
        row = b"".join(bytes([value]) * scale for value in modules[y // scale])
        frame[top + y][20 : 20 + len(row)] = row
    return frame


def read(grey: bytes, width: int, height: int) -> list[str]:
    """Return the texts of the codes in a frame as a scanner gives them, GS as character 29."""
    view = memoryview(grey).cast("B", (height, width))
    return [found.bytes.decode("utf-8", "replace") for found in zxingcpp.read_barcodes(view)]


def film(path: Path, frames: Sequence[Grey]) -> Path:
    """Write frames as an uncompressed film that Chromium's own pretended camera can play."""
    chroma = b"\x80" * (WIDTH * HEIGHT // 2)
    with path.open("wb") as file:
        file.write(f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F10:1 Ip A1:1 C420jpeg\n".encode())
        for frame in frames:
            file.write(b"FRAME\n" + b"".join(map(bytes, frame)) + chroma)
    return path


def give_reader(page: Page, formats: Sequence[str] = tuple(FORMATS)) -> None:
    """Give the page a reader of codes that truly reads what its camera shows."""
    page.add_init_script(STAND_IN % list(formats))

    def read_frame(text: str, width: int, height: int) -> list[str]:
        return read(base64.b64decode(text), width, height)

    page.expose_function("readFrame", read_frame)


def give_camera(page: Page, **state: Any) -> None:
    """Give the page a camera of its own; *state* are variables that it looks at."""
    for name, value in state.items():
        page.add_init_script(f"window.{name} = {value!r};")
    page.add_init_script(CAMERA)


def show(page: Page, frame: Grey) -> None:
    """Hold *frame* before the page's camera."""
    whole = base64.b64encode(b"".join(map(bytes, frame))).decode()
    page.evaluate("(frame) => { window.frame = frame; }", whole)
