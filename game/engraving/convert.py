# SPDX-License-Identifier: MIT
"""Sheet music of other formats as MEI, through Verovio.

Verovio runs in a process of its own: it prints its complaints where only a process can catch
them, and some files end it (an out-of-range abort of Verovio 6.4 in ABC), which must not end the
game. This file is also what that process runs, so it imports nothing but the standard library.
"""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryFile
from time import monotonic
from typing import Any
from xml.etree import ElementTree

FORMATS = {
    ".musicxml": "xml",
    ".xml": "xml",
    ".mxl": "xml",
    ".mei": "mei",
    ".abc": "abc",
    ".krn": "humdrum",
}
"""What Verovio is told that a file is, by the ending of its name."""

MOST_BYTES = 64 * 2**20
_PATIENCE_S = 120.0
_TICK_S = 0.25
_DECLARED = re.compile(r"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([\w.:-]+)["']""")
_ROOTS = {"score-partwise": "xml", "score-timewise": "xml", "mei": "mei", "container": "mxl"}
# What Verovio says that touches neither a pitch nor an onset.
_HARMLESS = re.compile(
    "slur|trill|wedge|hairpin|pedal|beam|[Ll]yric|syl|dynam|fermata|[Tt]empo|font|[Ff]ingering"
    "|MEI version found or not known|No header found|No data loaded|Error importing data"
    "|not fully supported yet|is ignored$|could not be matched"
)

Wait = Callable[[float], None]
"""Called now and then with the seconds that a conversion has taken so far."""


class PieceError(Exception):
    """A piece that cannot be taken; the message names the file, the place and the mend."""


@dataclass(frozen=True)
class Sheet:
    """A piece as MEI.

    Args:
        mei: the document.
        kind: the format that it came from: ``xml`` (MusicXML), ``mei``, ``abc``, ``humdrum``.
        name: what messages call it: the file as its user named it.
        complaints: what Verovio had to say of it, each once.
    """

    mei: str
    kind: str
    name: str
    complaints: tuple[str, ...] = ()


def convert(path: Path, wait: Wait | None = None) -> Sheet:
    """Read a file of sheet music: MusicXML, compressed MusicXML, MEI, ABC or Humdrum.

    Ids of notes are those of the file where it has any, else the same in every conversion.

    Raises:
        PieceError: the file cannot be read, is not what its name says, or has no music in it.
    """
    text, kind = read_text(path)
    return through_verovio(text, kind, str(path), wait)


def read_text(path: Path) -> tuple[str, str]:
    """The text of a file of sheet music, unpacked where it is packed, and its format.

    Raises:
        PieceError: as for :func:`convert`.
    """
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise PieceError(
            f"{path}: sheet music is read from files named {', '.join(FORMATS)}; "
            "export the piece as MusicXML, or mend the ending of the name"
        )
    try:
        if path.stat().st_size > MOST_BYTES:
            raise PieceError(f"{path}: larger than {MOST_BYTES >> 20} MB; is it sheet music?")
        data = path.read_bytes()
    except OSError as error:
        raise PieceError(f"{path}: {error.strerror}; name a file that can be read") from error
    if data.startswith(b"PK\x03\x04"):
        data = _unpacked(data, path)
    elif path.suffix.lower() == ".mxl" and data.strip():
        raise PieceError(
            f"{path}: not a zip archive, which a .mxl file is; if it is plain MusicXML, "
            "name it .musicxml"
        )
    if not data.strip():
        raise PieceError(f"{path}: the file is empty; export the piece again")
    text = _decoded(data, path)
    if kind in ("xml", "mei"):
        kind = _checked_xml(text, path)
    elif kind == "humdrum" and not re.search(r"^\*\*", text, re.MULTILINE):
        raise PieceError(f"{path}: no line begins with '**': this is not Humdrum; export it again")
    return text, kind


def through_verovio(text: str, kind: str, name: str, wait: Wait | None = None) -> Sheet:
    """Convert a text of a known format (see :class:`Sheet`).

    Raises:
        PieceError: Verovio is missing, cannot take the text, or finds no music in it.
    """
    status, out, err = _run(text, kind, name, wait)
    complaints, worst = _complaints(err)
    if status == _NO_VEROVIO:
        raise PieceError(f"Verovio, the engraver, is missing: {worst}. Install Stavewise again.")
    if status != 0:
        why = f": {worst}" if worst else ""
        how = "cannot read it" if status == 1 else "broke off while reading it"
        raise PieceError(
            f"{name}: Verovio, the engraver, {how}{why}; open it in a notation program and "
            "export it again as MusicXML"
        )
    if "<note " not in out:
        why = f" (Verovio says: {worst})" if worst else ""
        raise PieceError(f"{name}: there is no note in it{why}; export the piece again")
    return Sheet(out, kind, name, complaints)


def _run(text: str, kind: str, name: str, wait: Wait | None) -> tuple[int, str, str]:
    """Verovio in its own process: exit status, MEI, log."""
    begun = monotonic()
    with TemporaryFile() as given:  # a pipe would have to be fed while waiting
        given.write(text.encode())
        given.seek(0)
        child = subprocess.Popen(
            [sys.executable, "-P", str(Path(__file__).resolve()), kind],
            stdin=given,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
    try:
        while True:
            try:
                out, err = child.communicate(timeout=_TICK_S)
            except subprocess.TimeoutExpired:
                taken = monotonic() - begun
                if taken > _PATIENCE_S:
                    raise PieceError(
                        f"{name}: Verovio, the engraver, does not get done with it within "
                        f"{_PATIENCE_S:.0f} seconds; try a part of the piece"
                    ) from None
                if wait is not None:
                    wait(taken)
            else:
                return child.returncode, out.decode(), err.decode("utf-8", "replace")
    finally:
        if child.poll() is None:
            child.kill()
            child.communicate()


def _unpacked(data: bytes, path: Path) -> bytes:
    """The score inside a compressed MusicXML file (MusicXML 4.0: META-INF/container.xml)."""
    not_mxl = "a zip archive without a score in it, so not compressed MusicXML; export it again"
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            names = archive.namelist()
            inside = [name for name in names if name.lower().endswith((".xml", ".musicxml"))]
            inside = [name for name in inside if not name.startswith(("META-INF/", "__MACOSX/"))]
            if "META-INF/container.xml" in names:
                container = ElementTree.fromstring(archive.read("META-INF/container.xml"))
                roots = [root.get("full-path", "") for root in container.iter() if _is_root(root)]
                inside = [name for name in roots if name in names] or inside
            if not inside:
                raise PieceError(f"{path}: {not_mxl}")
            if archive.getinfo(inside[0]).file_size > MOST_BYTES:
                raise PieceError(f"{path}: its score is larger than {MOST_BYTES >> 20} MB")
            return archive.read(inside[0])
    except (zipfile.BadZipFile, ElementTree.ParseError, NotImplementedError, RuntimeError) as error:
        raise PieceError(
            f"{path}: a damaged zip archive ({error}); export the piece again"
        ) from error


def _is_root(element: ElementTree.Element) -> bool:
    return element.tag.rpartition("}")[2] == "rootfile"


def _decoded(data: bytes, path: Path) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    else:
        declared = _DECLARED.match(data[:200].decode("ascii", "replace").lstrip("\ufeff"))
        encoding = declared[1] if declared else "utf-8"
    try:
        text = data.decode("utf-8-sig" if encoding.lower() == "utf-8" else encoding)
    except (UnicodeDecodeError, LookupError) as error:
        if not data.lstrip().startswith(b"<") and b"\x00" not in data:
            return data.decode("latin-1")  # old ABC and Humdrum files have no other
        raise PieceError(
            f"{path}: its text is not in the encoding {encoding} ({error}); export it again"
        ) from error
    return _DECLARED.sub(lambda found: found[0].replace(found[1], "UTF-8"), text)


def _checked_xml(text: str, path: Path) -> str:
    """The format of an XML file; Verovio would take the head of a torn file without a word."""
    if not text.lstrip().startswith("<"):
        raise PieceError(f"{path}: plain text, not XML; export the piece as MusicXML")
    try:
        root = ElementTree.fromstring(text.encode())
    except ElementTree.ParseError as error:
        line, column = error.position
        what = str(error).partition(":")[0]
        raise PieceError(
            f"{path}, line {line}, column {column + 1}: broken XML ({what}); the file may be cut "
            "short: export the piece again"
        ) from error
    name = root.tag.rpartition("}")[2]
    kind = _ROOTS.get(name)
    if kind not in ("xml", "mei"):
        raise PieceError(
            f"{path}: XML whose outermost element is <{name}>, not MusicXML (<score-partwise>) "
            "or MEI (<mei>); export the piece as MusicXML"
        )
    return kind


def _complaints(log: str) -> tuple[tuple[str, ...], str]:
    """What Verovio said, each once, and the worst of it in one line."""
    lines = dict.fromkeys(line.strip() for line in log.splitlines() if line.strip())
    told = [line for line in lines if not _HARMLESS.search(line)]
    said = tuple(re.sub(r"^\[\w+\]\s*", "", line) for line in told)
    errors = [line for line in told if line.startswith("[Error]")] or told
    worst = re.sub(r"^\[\w+\]\s*", "", errors[0]) if errors else ""
    return said, worst.strip().rstrip(".")


# The process of its own

_NO_VEROVIO = 3


def _child(kind: str) -> int:
    """Standard input in, MEI out; 1 when Verovio cannot read it."""
    try:
        import verovio
    except ImportError as error:
        print(error, file=sys.stderr)
        return _NO_VEROVIO
    toolkit: Any = verovio.toolkit()
    toolkit.resetXmlIdSeed(1)  # the same ids each time
    toolkit.setOptions({"mdivAll": True})
    toolkit.setInputFrom("xml" if kind == "xml" else kind)
    if not toolkit.loadData(sys.stdin.buffer.read().decode("utf-8")):
        return 1
    sys.stdout.buffer.write(toolkit.getMEI().encode())
    return 0


if __name__ == "__main__":
    sys.exit(_child(sys.argv[1]))
