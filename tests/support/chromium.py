# SPDX-License-Identifier: MIT
"""A headless Chromium for the tests of pages that people open in a browser."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from game.files.resources import font_path

REQUIRED = os.environ.get("STAVEWISE_REQUIRE_CHROMIUM") == "1"
_FOUND = next(
    (path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), ""
)
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    # No name leads anywhere: what a page would fetch, it cannot.
    "--host-resolver-rules=MAP * ~NOTFOUND",
)
_REPORT = """
<script>
addEventListener("load", () => {
  const out = [], width = document.documentElement.clientWidth;
  for (const one of document.body.querySelectorAll("*")) {
    const box = one.getBoundingClientRect(), name = one.tagName + "." + one.className;
    const inside = one.closest("svg");
    if (box.width && (box.left < -0.5 || box.right > width + 0.5))
      out.push("off the page: " + name);
    if (!inside && one.scrollWidth > one.clientWidth + 1 && one.clientWidth)
      out.push("overflows: " + name);
    if (inside && inside !== one && one.tagName === "text") {
      const frame = inside.getBoundingClientRect();
      if (box.left < frame.left - 1 || box.right > frame.right + 1 ||
          box.top < frame.top - 1 || box.bottom > frame.bottom + 1)
        out.push("clipped: " + one.textContent);
    }
  }
  // Letters of a drawing that touch: their boxes without a fifth of the height, above and below.
  for (const svg of document.querySelectorAll("svg")) {
    const texts = [...svg.querySelectorAll("text")].filter(one => one.textContent.trim());
    const boxes = texts.map(one => one.getBoundingClientRect());
    for (let a = 0; a < boxes.length; a++)
      for (let b = a + 1; b < boxes.length; b++) {
        const one = boxes[a], two = boxes[b], in_ = 0.2 * Math.min(one.height, two.height);
        if (one.left < two.right + 1 && two.left < one.right + 1 &&
            one.top + in_ < two.bottom - in_ && two.top + in_ < one.bottom - in_)
          out.push("touch: " + texts[a].textContent + " " + texts[b].textContent);
      }
  }
  const said = { faults: out, fetched: performance.getEntriesByType("resource").length,
                 text: document.body.innerText, bold: document.querySelectorAll("h1 b").length };
  document.title = JSON.stringify(said);
});
</script>
"""


def chromium() -> str:
    """Its path; the test skips, or fails where it is required, when there is none."""
    if not _FOUND:
        reason = "no chromium here; STAVEWISE_REQUIRE_CHROMIUM=1 makes that a failure"
        if REQUIRED:
            pytest.fail(reason)
        pytest.skip(reason)
    return _FOUND


def _only_our_fonts(folder: Path) -> Path:
    """A fontconfig file that knows the fonts of the assets alone: what a page measures must not
    depend on which others this computer has, or has not."""
    conf = folder / "fonts.conf"
    conf.write_text(
        f"<fontconfig><dir>{font_path('SourceSerifPro-Regular').parent}</dir>"
        f"<cachedir>{folder / 'font cache'}</cachedir></fontconfig>",
        encoding="utf-8",
    )
    return conf


def _run(folder: Path, *argv: str) -> str:
    profile = folder / "browser"
    shutil.rmtree(profile, ignore_errors=True)
    done = subprocess.run(
        [chromium(), *_FLAGS, f"--user-data-dir={profile}", *argv],
        capture_output=True,
        text=True,
        timeout=120,
        cwd=folder,
        env={**os.environ, "FONTCONFIG_FILE": str(_only_our_fonts(folder))},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def looked_at(page: str, folder: Path, width: int) -> dict[str, Any]:
    """What a browser window of this width makes of a page: faults of layout, fetches, its text.

    A script is added to a copy of the page for that, and to its policy leave to run it.
    """
    copy = page.replace("default-src 'none'", "default-src 'none'; script-src 'unsafe-inline'")
    assert copy != page
    path = folder / "looked at.html"
    path.write_text(copy.replace("</head>", f"{_REPORT}</head>"), encoding="utf-8")
    dom = _run(folder, f"--window-size={width},900", "--dump-dom", path.as_uri())
    title = re.search(r"<title>(.*?)</title>", dom, re.DOTALL)
    assert title is not None
    text = title[1].replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
    found: dict[str, Any] = json.loads(text)
    return found


def printed(page: str, folder: Path) -> bytes:
    """The page as a browser prints it, PDF."""
    path = folder / "printed.html"
    path.write_text(page, encoding="utf-8")
    out = folder / "printed.pdf"
    _run(folder, f"--print-to-pdf={out}", "--no-pdf-header-footer", path.as_uri())
    return out.read_bytes()


def pictured(page: str, folder: Path, width: int, height: int) -> bytes:
    """The page as a browser shows it, PNG."""
    path = folder / "pictured.html"
    path.write_text(page, encoding="utf-8")
    out = folder / "pictured.png"
    _run(folder, f"--window-size={width},{height}", f"--screenshot={out}", path.as_uri())
    return out.read_bytes()
