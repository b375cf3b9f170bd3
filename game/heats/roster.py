# SPDX-License-Identifier: MIT
"""A roster: the readers of a class or several, from CSV and back.

What is read: UTF-8 with or without a byte order mark, UTF-16 with one, else Windows-1252 (of which
Latin-1's letters are a part), which is said; commas, semicolons or tabs; quoted fields; a first
line of headings (name, number, class, in any order and several languages) or none. Without
headings a column of nothing but whole numbers is the number, and of the others the first is the
name and the second the class. Empty rows are skipped. A reader may be just a number.

What is no text is told in one line with its mend: a spreadsheet's own file by what it is (from its
first bytes or its name), anything else by its control characters, of which text has hardly any.

A name that a spreadsheet would take for a formula is guarded (:mod:`game.heats.csv_cells`) by
:func:`roster_csv`, and :func:`parse_roster` undoes it: what was exported reads back the same.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from game.heats.csv_cells import guarded, unguarded
from game.reader.names import NameRefused, clean_name, folded

MOST_READERS = 5000
MOST_BYTES = 4_000_000
MOST_NUMBER = 99_999
_FAULTS = 15  # that are told; nobody reads more before mending some
_SHOWN = 30  # characters of a cell that are shown where it is at fault

HEADINGS = {
    "name": "name, reader, pupil, student, schüler, nom, élève, nombre, alumno, nome, 名前, 氏名",
    "first": "first name, firstname, given name, forename, vorname, prénom, nombre de pila",
    "last": "last name, lastname, surname, family name, nachname, familienname, nom de famille, "
    "apellido, apellidos, cognome, sobrenome",
    "number": "number, no, no., nr, nr., #, seat, nummer, numéro, número, numero, 番号",
    "class": "class, group, klasse, gruppe, classe, groupe, clase, grupo, クラス, 組",
}
"""Column -> words that may head it, in any capitals."""

SPREADSHEETS = {
    ".xlsx": "an Excel workbook",
    ".xlsm": "an Excel workbook",
    ".xls": "an Excel workbook",
    ".ods": "an OpenDocument spreadsheet",
    ".numbers": "a Numbers spreadsheet",
}
"""Ending of a spreadsheet's own file -> what it is. No list can be read from one."""

# How the containers of such files begin: ZIP (PKWARE's APPNOTE, 4.3.7) and the older Compound File
# (MS-CFB, 2.2).
_CONTAINERS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f\x7f]")  # Ctrl-Z ended texts once
_SAVE_AS = "save it as CSV (UTF-8) from your spreadsheet, and give that file"
_MUCH = 0.02  # a share of control characters that no text has

_KNOWN = "name, first name, last name, number and class, in several languages"
_COLUMN = {folded(word): column for column, words in HEADINGS.items() for word in words.split(", ")}


@dataclass(frozen=True, slots=True)
class ListedMember:
    """A reader of a class.

    Args:
        name: as kept (composed, single spaces); empty for one who is just a number.
        number: 1 to 99,999; None where none was given. One of the two is there.
        group: the class; empty where none was given.
    """

    name: str = ""
    number: int | None = None
    group: str = ""

    @property
    def title(self) -> str:
        """The name, or the number."""
        return self.name or str(self.number)


@dataclass(frozen=True, slots=True)
class ClassList:
    """Readers in order, and what is to be known of how they were read.

    Args:
        members: in the order of the file.
        notices: sentences.
        unknown: what the first line says where it looks like headings, none of which is known;
            it was read as a reader like the others, and a notice says so.
    """

    members: tuple[ListedMember, ...]
    notices: tuple[str, ...] = field(default=(), compare=False)
    unknown: tuple[str, ...] = field(default=(), compare=False)

    @property
    def groups(self) -> tuple[str, ...]:
        """The classes, in order of their first reader."""
        return tuple(dict.fromkeys(member.group for member in self.members))


class RosterFaults(ValueError):
    """A roster that cannot be used; `faults` has a message for each thing wrong with it."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


def parse_roster(data: bytes, name: str, usual: str = "") -> ClassList:
    """Read a roster.

    Args:
        data: the file, or what was typed in, encoded as UTF-8.
        name: of the file, for messages.
        usual: the class of those for whom it names none.

    Raises:
        RosterFaults: with every fault found.
    """
    if len(data) > MOST_BYTES:
        raise RosterFaults((f"{name}: longer than {MOST_BYTES:,} bytes; split it",))
    ending = name[name.rfind(".") :].lower() if "." in name else ""
    if ending in SPREADSHEETS or data.startswith(_CONTAINERS):
        kind = SPREADSHEETS.get(ending, "a spreadsheet's own file, or an archive")
        raise RosterFaults((f"{name}: this is {kind}, not a text file; {_SAVE_AS}",))
    text, notices = _decoded(data, name)
    if "\0" in text or len(_CONTROL.findall(text)) > max(2, _MUCH * len(text)):
        raise RosterFaults((f"{name}: this is not a text file; {_SAVE_AS}",))
    rows = _rows(text, name)
    if not rows:
        raise RosterFaults((f"{name}: there is no reader in it",))
    columns, begin = _columns(rows, name, notices)
    unknown = _unknown_headings([row for _line, row in rows]) if begin == 0 else ()
    if unknown:
        notices.insert(
            0,
            f"{name}, line {rows[0][0]}: this looks like headings, and none of them is known: "
            f"{', '.join(map(_short, unknown))}. Known are {_KNOWN}. It is read as a reader",
        )
    faults: list[str] = []
    members: list[ListedMember] = []
    seen: dict[tuple[str, str], int] = {}
    numbers: dict[tuple[str, int], int] = {}
    for line, row in rows[begin:]:
        where = f"{name}, line {line}"
        member = _member(row, columns, where, faults)
        if member is None:
            continue
        if not member.group:
            member = replace(member, group=usual)
        if member.number is not None:
            first = numbers.setdefault((folded(member.group), member.number), line)
            if first != line:
                faults.append(
                    f"{where}: number {member.number} is taken by line {first}; "
                    "give each reader of a class another one, or none"
                )
        if member.name:
            member = _told_apart(member, seen, line, name, notices)
        members.append(member)
    if not members and not faults:
        faults.append(f"{name}: there is no reader in it, only headings")
    if len(members) > MOST_READERS:
        faults = [f"{name}: {len(members)} readers; at most {MOST_READERS}; split it"]
    if faults:
        more = len(faults) - _FAULTS
        told = (*faults[:_FAULTS], *([f"{name}: and {more} more"] if more > 0 else []))
        raise RosterFaults(told)
    return ClassList(tuple(members), tuple(notices), unknown)


def roster_csv(roster: ClassList) -> str:
    """The roster as CSV (RFC 4180: commas, CR LF) with headings, which reads back the same.

    Written to a file it should be encoded as ``utf-8-sig``: spreadsheets then know it for UTF-8.
    """
    lines = ["name,number,class"]
    for member in roster.members:
        number = "" if member.number is None else str(member.number)
        lines.append(f"{_cell(member.name)},{number},{_cell(member.group)}")
    return "\r\n".join(lines) + "\r\n"


def _decoded(data: bytes, name: str) -> tuple[str, list[str]]:
    for mark, encoding in (
        (b"\xef\xbb\xbf", "UTF-8-sig"),
        (b"\xff\xfe", "UTF-16"),
        (b"\xfe\xff", "UTF-16"),
        (b"", "UTF-8"),
    ):
        if data.startswith(mark):
            try:
                return data.decode(encoding), []
            except UnicodeDecodeError:
                if mark:
                    word = encoding.removesuffix("-sig")
                    raise RosterFaults(
                        (f"{name}: it begins as {word} and does not go on so; save it as UTF-8",)
                    ) from None
    notice = (
        f"{name} is not UTF-8: it was read as Windows-1252. See that names with accents are "
        "right; if not, save it as UTF-8."
    )
    try:
        return data.decode("cp1252"), [notice]
    except UnicodeDecodeError:
        return data.decode("latin-1"), [notice]


def _rows(text: str, name: str) -> list[tuple[int, list[str]]]:
    """Line number and cells of every row that is not empty."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    skipped = 0
    separator = ""
    if re.fullmatch(r"sep=[,;\t]", lines[0].strip(" ")):  # a spreadsheet's own first line
        separator, skipped = lines[0].strip(" ")[-1], 1
    lines = lines[skipped:]
    separator = separator or _separator(next((line for line in lines if line.strip()), ""))
    reader = csv.reader(
        (f"{line}\n" for line in lines), delimiter=separator, strict=True, skipinitialspace=True
    )
    rows: list[tuple[int, list[str]]] = []
    before = 0
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if any(cells):
                rows.append((before + 1 + skipped, cells))
            before = reader.line_num
    except csv.Error:
        raise RosterFaults(
            (
                f"{name}, line {before + 1 + skipped}: a quotation mark opens a cell here and does "
                "not close it; write one quotation mark inside a cell as two",
            )
        ) from None
    return rows


def _separator(line: str) -> str:
    bare = re.sub(r'"[^"]*"', "", line)
    return max("\t;,", key=bare.count) if re.search(r"[\t;,]", bare) else ","


def _columns(
    rows: list[tuple[int, list[str]]], name: str, notices: list[str]
) -> tuple[dict[str, int], int]:
    """Column -> its place, and the index of the first row that is no heading."""
    line, first = rows[0]
    known = [_COLUMN.get(folded(cell)) for cell in first]
    if any(known) and not any(cell.isdecimal() for cell in first):
        columns: dict[str, int] = {}
        for place, column in enumerate(known):
            if column is not None and columns.setdefault(column, place) != place:
                raise RosterFaults(
                    (f"{name}, line {line}: two columns are headed as the {column}; keep one",)
                )
        others = [cell for cell, column in zip(first, known, strict=True) if cell and not column]
        if others:
            notices.append(f"{name}: these columns were left out: {', '.join(map(_short, others))}")
        if "first" in columns and "last" not in columns and "name" in columns:
            columns["last"] = columns.pop("name")
        if not {"name", "first", "last", "number"} & set(columns):
            raise RosterFaults((f"{name}, line {line}: no column is headed 'name' or 'number'",))
        return columns, 1
    width = max(len(row) for _, row in rows)
    columns = {}
    for place in range(width):
        cells = [row[place] for _, row in rows if place < len(row) and row[place]]
        numeric = bool(cells) and all(cell.isdecimal() for cell in cells)
        if numeric and "number" not in columns:
            columns["number"] = place
        elif cells:
            free = next((column for column in ("name", "class") if column not in columns), None)
            if free is None:
                raise RosterFaults(
                    (
                        f"{name}, line {line}: more columns than name, number and class; "
                        "give the first line headings that say which they are",
                    )
                )
            columns[free] = place
    return columns, 0


def _unknown_headings(rows: list[list[str]]) -> tuple[str, ...]:
    """The first row where it looks like headings: it stands in words over a column of nothing but
    numbers, or a cell of it has a word for a name in it (``Full name``)."""
    first, *others = rows
    if any(cell.isdecimal() for cell in first):
        return ()
    for place, cell in enumerate(first):
        below = [row[place] for row in others if place < len(row) and row[place]]
        over_numbers = bool(below) and all(one.isdecimal() for one in below)
        over_numbers &= not any(letter.isdigit() for letter in cell)  # 3b over 4 is two classes
        if cell and (over_numbers or _NAMING & set(folded(cell).split())):
            return tuple(filter(None, first))
    return ()


_NAMING = {
    *("name", "names", "forename", "surname", "vorname", "nachname", "familienname", "prénom"),
    *("nombre", "apellido", "apellidos", "nome", "cognome", "sobrenome"),
}
"""Words, as they compare, that are in headings of a name and in hardly anybody's own."""


def _member(
    row: list[str], columns: dict[str, int], where: str, faults: list[str]
) -> ListedMember | None:
    def cell(column: str) -> str:
        place = columns.get(column, len(row))
        return row[place] if place < len(row) else ""

    found = len(faults)
    whole = cell("name") or " ".join(filter(None, (cell("first"), cell("last"))))
    name, group = (_text(text, where, faults) for text in (whole, cell("class")))
    number = None
    if cell("number"):
        number = int(cell("number")) if cell("number").isdecimal() else 0
        if not 1 <= number <= MOST_NUMBER:
            faults.append(
                f"{where}: the number is {_short(cell('number'))!r}; "
                f"allowed: a whole number from 1 to {MOST_NUMBER}"
            )
    if len(faults) > found:
        return None
    if not name and number is None:
        if any(row):
            faults.append(f"{where}: neither a name nor a number; give one of them")
        return None
    return ListedMember(name, number, group)


def _text(cell: str, where: str, faults: list[str]) -> str:
    cell = unguarded(cell)
    if not cell:
        return ""
    try:
        return clean_name(cell)
    except NameRefused as error:
        faults.append(f"{where}: {_short(cell)!r}: {error.what}. {error.mend}")
        return ""


def _short(cell: str) -> str:
    return cell if len(cell) <= _SHOWN else f"{cell[:_SHOWN]}…"


def _told_apart(
    member: ListedMember, seen: dict[tuple[str, str], int], line: int, name: str, notices: list[str]
) -> ListedMember:
    """The member, numbered where somebody of this class has the name already."""
    group = folded(member.group)
    first = seen.get((group, folded(member.name)))
    own = member.name
    if first is not None:
        own = next(
            numbered for numbered in numbered_names(own) if (group, folded(numbered)) not in seen
        )
        notices.append(
            f"{name}, lines {first} and {line}: two readers are called {member.name}; "
            f"the second is now {own}"
        )
    seen[group, folded(own)] = line
    return ListedMember(own, member.number, member.group)


def numbered_names(name: str) -> Iterator[str]:
    """What the second of a name may be called, and the third: ``Mia (2)``, ``Mia (3)``, …"""
    for number in range(2, MOST_READERS + 3):
        yield f"{name} ({number})"


def _cell(text: str) -> str:
    text = guarded(text)
    return '"' + text.replace('"', '""') + '"' if re.search(r'[",;\t]', text) else text
