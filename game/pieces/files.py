# SPDX-License-Identifier: MIT
"""A file of sheet music as text: unpacked, decoded, and seen to be what its name says.

Sources: PKWARE's APPNOTE 6.3.10; MusicXML 4.0 on compressed files (DEFLATE, META-INF/container.xml,
the first root file is the score); XML 1.0.
"""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import NoReturn
from xml.etree import ElementTree
from xml.parsers import expat

from game.pieces.elements import tag
from game.pieces.musicxml import Change, made_plain
from game.pieces.piece import PieceError

FORMATS = {
    ".musicxml": "xml",
    ".xml": "xml",
    ".mxl": "xml",
    ".mei": "mei",
    ".abc": "abc",
    ".krn": "humdrum",
}
"""What Verovio is told that a file is, by the ending of its name."""

MOST_BYTES = 8 * 2**20  # some 50,000 notes of MusicXML; more take more memory than may be
_MOST_OF_CONTAINER = 2**16
_DEEPEST = 100  # elements within elements; MusicXML and MEI need some 30
_DECLARED = re.compile(r"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([\w.:-]+)["']""")
# Attributes of MEI that end Verovio where they are no whole numbers, or too large.
_WHOLE = {
    "clef.line",
    "line",
    "lines",
    "dots",
    "dur.ppq",
    "num",
    "numbase",
    "oct",
    "oct.ges",
    "ppq",
}
_COUNTED = {"layer", "staff", "staffDef"}
_NUMBER = re.compile(r"[+-]?[0-9]{1,9}")
_BEYOND = re.compile(r"[+-]?[0-9]{10,}")
_INCLUDE = "{http://www.w3.org/2001/XInclude}include"
_ROOTS = {"score-partwise": "xml", "score-timewise": "xml", "mei": "mei"}


@dataclass(frozen=True, slots=True)
class MusicText:
    """The text of a file: its format, what messages call it, and what Verovio is not told."""

    text: str
    kind: str
    name: str
    changes: tuple[Change, ...] = ()


def read_text(path: Path) -> MusicText:
    """Read a file of sheet music.

    Raises:
        PieceError: it cannot be read, is not what its name says, or is damaged.
    """
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise PieceError(
            f"{path}: sheet music is read from files named {', '.join(FORMATS)}; "
            "export the piece as MusicXML, or mend the ending of the name"
        )
    try:
        if not path.is_file() and path.exists():
            raise PieceError(f"{path}: not a file; name a file of sheet music")
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise PieceError(f"{path}: {error.strerror}; name a file that can be read") from error
    if data.startswith(b"PK\x03\x04"):
        data = _unpacked(data, path)
    elif path.suffix.lower() == ".mxl" and data.strip():
        raise PieceError(
            f"{path}: not a zip archive, which a .mxl file is; if it is plain MusicXML, "
            "name it .musicxml"
        )
    if len(data) > MOST_BYTES:
        raise PieceError(f"{path}: larger than {MOST_BYTES >> 20} MB; export a part of the piece")
    if not data.strip():
        raise PieceError(f"{path}: the file is empty; export the piece again")
    text = _decoded(data, path)
    if kind in ("xml", "mei"):
        return _plain_xml(text, str(path))
    if kind == "humdrum" and not re.search(r"^\*\*", text, re.MULTILINE):
        raise PieceError(f"{path}: no line begins with '**': this is not Humdrum; export it again")
    return MusicText(text, kind, str(path))


def _unpacked(data: bytes, path: Path) -> bytes:
    """The score inside a compressed MusicXML file, at most one byte more than may be."""
    not_mxl = "a zip archive without a score in it, so not compressed MusicXML; export it again"
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            names = archive.namelist()
            inside = [name for name in names if name.lower().endswith((".xml", ".musicxml"))]
            inside = [name for name in inside if not name.startswith(("META-INF/", "__MACOSX/"))]
            if "META-INF/container.xml" in names:
                container = _member(archive, "META-INF/container.xml", _MOST_OF_CONTAINER, path)
                roots = [each for each in _root_files(container, path) if each in names]
                inside = roots or inside
            if not inside:
                raise PieceError(f"{path}: {not_mxl}")
            return _member(archive, inside[0], MOST_BYTES, path)
    except _DAMAGED as error:
        raise PieceError(
            f"{path}: a damaged zip archive ({error or 'it ends too soon'}); export the piece again"
        ) from error


# What zipfile lets through of archives whose parts do not agree.
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    RuntimeError,
    ValueError,
)


def _member(archive: zipfile.ZipFile, name: str, most: int, path: Path) -> bytes:
    """A file of an archive; no more of it is unpacked than may be, whatever its size says."""
    entry = archive.getinfo(name)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise PieceError(
            f"{path}: {name} in it is packed in a way that compressed MusicXML does not have; "
            "export the piece again"
        )
    with archive.open(entry) as file:
        data = file.read(most + 1)
    if len(data) > most:
        size = f"{most >> 20} MB" if most >> 20 else f"{most >> 10} kB"
        raise PieceError(f"{path}: {name} in it is larger than {size}; export a part of the piece")
    return data


def _root_files(container: bytes, path: Path) -> list[str]:
    root = _parsed(container.decode("utf-8-sig"), f"{path}, META-INF/container.xml in it")
    return [each.get("full-path", "") for each in root.iter() if tag(each) == "rootfile"]


def _decoded(data: bytes, path: Path) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    else:
        declared = _DECLARED.match(data[:200].decode("ascii", "replace").lstrip("\ufeff"))
        encoding = declared[1] if declared else "utf-8"
    try:
        text = data.decode("utf-8-sig" if encoding.lower() == "utf-8" else encoding)
    except (UnicodeError, LookupError) as error:
        if not data.lstrip().startswith(b"<") and b"\x00" not in data:
            return data.decode("latin-1")  # old ABC and Humdrum files have no other
        where = f", byte {error.start}" if isinstance(error, UnicodeDecodeError) else ""
        raise PieceError(
            f"{path}{where}: its text is not in the encoding {encoding}, or that is none that can "
            "be read; export it again in UTF-8"
        ) from error
    return _DECLARED.sub(lambda found: found[0].replace(found[1], "UTF-8"), text)


def _plain_xml(text: str, name: str) -> MusicText:
    """The text of MusicXML or MEI, without what Verovio would stumble over."""
    if not text.lstrip().startswith("<"):
        raise PieceError(f"{name}: plain text, not XML; export the piece as MusicXML")
    root = _parsed(text, name)
    kind = _ROOTS.get(tag(root))
    if kind is None:
        raise PieceError(
            f"{name}: XML whose outermost element is <{tag(root)}>, not MusicXML "
            "(<score-partwise>) or MEI (<mei>); export the piece as MusicXML"
        )
    if kind == "mei":
        _checked_mei(root, name)
    for element in root.iter():  # Verovio knows the elements without their namespace
        element.tag = tag(element)
    changes = made_plain(root, name) if kind == "xml" else ()
    return MusicText(
        ElementTree.tostring(root, "unicode", xml_declaration=True), kind, name, changes
    )


def _checked_mei(root: ElementTree.Element, name: str) -> None:
    """Take out of the header what Verovio would copy without its namespace, and refuse music that
    is not here (XInclude, W3C 2006) and numbers that would end Verovio."""
    own, label = root.tag.rpartition("}")[0], ""
    defined = {each.get("n", "").strip() for each in root.iter() if tag(each) == "staffDef"}
    for part in root:
        for element in part.iter():
            strange = [each for each in element if each.tag.rpartition("}")[0] != own]
            if tag(part) == "meiHead":
                for each in strange:
                    element.remove(each)
                continue
            if tag(element) == "measure":
                label = f", bar {element.get('n', '')[:12]}"
            for key, value in ((key, text.strip()) for key, text in element.items()):
                whole = key in _WHOLE or (key == "n" and tag(element) in _COUNTED)
                if _BEYOND.fullmatch(value) or (whole and not _NUMBER.fullmatch(value)):
                    raise PieceError(
                        f"{name}{label}: {key} of <{tag(element)}> is '{value[:20]}'; mend it and "
                        "export the piece again"
                    )
            if tag(element) == "staff" and element.get("n", "").strip() not in defined:
                raise PieceError(
                    f"{name}{label}: a staff of which nothing is said before; export it again"
                )
            if any(each.tag == _INCLUDE for each in strange):
                raise PieceError(
                    f"{name}{label}: a part of the music is in another file (xi:include); export "
                    "the piece as one file"
                )


def _parsed(text: str, name: str) -> ElementTree.Element:
    """The root element; Verovio would take the head of a torn file without a word.

    Raises:
        PieceError: the XML is broken, defines entities, or nests elements beyond all use.
    """
    parser, depth = expat.ParserCreate(namespace_separator=" "), 0

    def refuse(what: str) -> NoReturn:
        place = f"line {parser.CurrentLineNumber}, column {parser.CurrentColumnNumber + 1}"
        raise PieceError(f"{name}, {place}: {what}: export the piece again")

    def start(_name: str, _attributes: object) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            refuse(f"more than {_DEEPEST} elements within each other, which no music needs")

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    def entity(*_declared: object) -> None:
        refuse("it defines entities of its own, which no music needs")

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.EntityDeclHandler = entity
    data = text.encode()
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        what = expat.ErrorString(error.code)
        refuse(f"broken XML ({what}); the file may be cut short")
    return ElementTree.fromstring(data)
