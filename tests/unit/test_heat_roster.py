# SPDX-License-Identifier: MIT
"""Class lists as schools have them: read from CSV, told what is wrong with them, written again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from game.heats.roster import ClassList, ListedMember, RosterFaults, parse_roster, roster_csv
from game.reader.names import NameRefused, clean_name, folded

CLASS = "name;number;class\nZoë;1;4b\nÅsa;2;4b\n"
MEMBERS = (ListedMember("Zoë", 1, "4b"), ListedMember("Åsa", 2, "4b"))


def read(text: str | bytes, name: str = "class.csv") -> ClassList:
    return parse_roster(text if isinstance(text, bytes) else text.encode(), name)


def faults(text: str | bytes) -> tuple[str, ...]:
    with pytest.raises(RosterFaults) as caught:
        read(text)
    return caught.value.faults


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_a_file_in_any_encoding_that_says_which_it_is(encoding):
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    roster = read(mark + CLASS.encode(encoding))
    assert (roster.members, roster.notices) == (MEMBERS, ())


@pytest.mark.parametrize("encoding", ["latin-1", "cp1252"])
def test_a_file_in_latin_1_is_read_and_it_is_said(encoding):
    roster = read(CLASS.encode(encoding))
    assert roster.members == MEMBERS
    assert len(roster.notices) == 1
    assert "class.csv" in roster.notices[0]
    assert "Windows-1252" in roster.notices[0]


def test_a_byte_that_windows_does_not_know_is_latin_1s():
    assert "cannot be shown" in faults(b"Zo\xeb\nA\x81b")[0]


def test_a_file_that_is_not_what_its_mark_says_is_refused():
    assert "class.csv: it begins as UTF-8 and" in faults(b"\xef\xbb\xbfZo\xeb")[0]
    assert "UTF-16" in faults(b"\xff\xfea\x00b")[0]


@pytest.mark.parametrize(
    "data",
    [
        bytes(range(256)) * 4,
        b"\x89PNG\r\n\x1a\n" + bytes(20),
        b"%PDF-1.7\n" + bytes([1, 2, 3, 4, 14, 15, 16]) * 9,
        "Zoë;1\nÅsa;2\n".encode("utf-16-le"),  # without its mark
    ],
)
def test_what_is_no_text_is_told_once_with_the_mend(data):
    (fault,) = faults(data)
    assert fault.startswith("class.csv: this is not a text file; save it as CSV")
    assert fault.isprintable() and "\\x" not in fault


@pytest.mark.parametrize(
    ("name", "kind"),
    [("a.xlsx", "Excel"), ("A.XLS", "Excel"), ("a.ods", "OpenDocument"), ("a.numbers", "Numbers")],
)
def test_a_spreadsheets_own_file_is_named_as_such(name, kind):
    for data in (b"PK\x03\x04" + bytes(range(256)), b""):
        with pytest.raises(RosterFaults) as caught:
            read(data, name)
        (fault,) = caught.value.faults
        assert f"{name}: this is an" in fault.replace("is a N", "is an N") and kind in fault
        assert "save it as CSV" in fault


def test_a_spreadsheets_own_file_that_is_called_csv_is_found_out():
    assert "a spreadsheet's own file" in faults(b"PK\x03\x04 and so on")[0]


def test_a_very_long_cell_is_told_in_short():
    (fault,) = faults("name,number\nMia," + "9x" * 500)
    assert len(fault) < 150
    (fault,) = faults("x" * 5000)
    assert len(fault) < 150


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_separator_and_end_of_line(separator, end):
    assert read(CLASS.replace(";", separator).replace("\n", end)).members == MEMBERS


@pytest.mark.parametrize(
    "text",
    [
        "class,NAME,Number\n4b,Zoë,1\n4b,Åsa,2",
        "Nummer;Name;Klasse\n1;Zoë;4b\n2;Åsa;4b",
        "sep=;\r\nname;number;class\r\nZoë;1;4b\r\nÅsa;2;4b\r\n",
        "1,Zoë,4b\n2,Åsa,4b",
        "Zoë,4b,1\nÅsa,4b,2",
        '"Zoë",1,"4b"\n\n,,\n  \n"Åsa", 2 ,"4b"\n\n',
        "name,birthday,number,class\nZoë,2015,1,4b\nÅsa,,2,4b",
    ],
)
def test_columns_in_any_order_with_headings_or_without(text):
    assert read(text).members == MEMBERS


def test_columns_that_mean_nothing_are_left_out_and_named():
    assert "birthday" in read("name,birthday\nZoë,2015").notices[0]


def test_names_only_and_numbers_only():
    assert read("Zoë\nÅsa\n").members == (ListedMember("Zoë"), ListedMember("Åsa"))
    assert read("1\n2\n").members == (ListedMember("", 1), ListedMember("", 2))
    assert read("number,class\n1,4b\n").members == (ListedMember("", 1, "4b"),)


def test_a_quoted_name_may_hold_separators_and_quotation_marks():
    roster = read('name,number\n"Okafor, Mia ""Mi""",1\n')
    assert roster.members == (ListedMember('Okafor, Mia "Mi"', 1),)


def test_names_in_any_script_are_composed():
    roster = read("name\nZoe\u0308\n陽菜\nمريم\nЖанна\n")
    assert [member.name for member in roster.members] == ["Zoë", "陽菜", "مريم", "Жанна"]


def test_two_of_one_name_are_kept_and_told_apart_with_both_lines():
    roster = read("name,class\nMia,4b\nTom,4b\nMIA,4b\nmia,4c\nMia,4b\n")
    names = [member.name for member in roster.members]
    assert names == ["Mia", "Tom", "MIA (2)", "mia", "Mia (3)"]
    assert ["2 and 4" in roster.notices[0], "2 and 6" in roster.notices[1]] == [True, True]
    assert len(roster.notices) == 2


def test_a_name_made_for_a_second_one_is_nobody_elses():
    names = [member.name for member in read("name\nMia (2)\nMia\nMia\n").members]
    assert names == ["Mia (2)", "Mia", "Mia (3)"]


def test_five_hundred_rows():
    rows = "".join(f"{n};Reader {n};{n % 20}\n\n" for n in range(1, 501))
    roster = read(rows)
    assert len(roster.members) == 500
    assert len(roster.groups) == 20
    assert roster.members[499] == ListedMember("Reader 500", 500, "0")


def test_more_readers_than_a_school_has_are_refused():
    assert "at most 5000" in faults("name\n" + "".join(f"R{n}\n" for n in range(5001)))[0]
    assert "bytes" in faults(b"a" * 5_000_000)[0]


@pytest.mark.parametrize("text", ["", "\n\n", ",,\n,,", "name,number\n"])
def test_a_file_without_readers_is_refused(text):
    assert "no reader" in faults(text)[0]


def test_every_fault_is_named_with_its_line():
    found = faults(
        'name,number\nZoë,one\n"Å\nsa",0\n,,\n\u0007,3\nTom,4\nTim,4\n' + "x" * 81 + ",5"
    )
    assert [fault.split(":")[0] for fault in found] == [
        f"class.csv, line {line}" for line in (2, 3, 6, 8, 9)
    ]
    assert "'one'; allowed: a whole number from 1" in found[0]
    assert "taken by line 7" in found[3]
    assert "longer than 80" in found[4]


def test_a_row_that_says_who_sits_nowhere_is_named():
    assert "line 3: neither a name nor a number" in faults("name,class\nMia,4b\n,4b\n")[0]


def test_a_quotation_mark_that_is_never_closed_is_named():
    assert "line 3: a quotation mark" in faults('name,number\nMia,1\n"Tom,2\nTim,3\n')[0]


def test_headings_that_do_not_do_are_named():
    assert "two columns are headed as the name" in faults("name,pupil\na,b\n")[0]
    assert "no column is headed" in faults("class,birthday\n4b,x\n")[0]
    assert "more columns" in faults("Mia,4b,x,y\n")[0]


# Export


def test_an_export_is_plain_csv():
    text = roster_csv(
        ClassList((ListedMember("Okafor, Mia", 1, "4b"), ListedMember("", 2), ListedMember('"Mi"')))
    )
    assert text == 'name,number,class\r\n"Okafor, Mia",1,4b\r\n,2,\r\n"""Mi""",,\r\n'


@pytest.mark.parametrize("name", ["=1+1 A", "+A", "-A", "@A", "'=A", "''@A", "'A", "A=1"])
def test_no_exported_cell_is_a_formula_and_each_name_comes_back(name):
    text = roster_csv(ClassList((ListedMember(name, 1, name),)))
    for cell in text.splitlines()[1].split(","):
        assert cell[0] not in "=+-@"
    assert read(text).members == (ListedMember(name, 1, name),)


def _kept(text: str) -> bool:
    try:
        return clean_name(text) == text
    except NameRefused:
        return False


NAMES = st.text(max_size=12).map(lambda text: " ".join(text.split())).filter(_kept)


@given(
    st.lists(
        st.builds(ListedMember, NAMES, st.none() | st.integers(1, 99_999), st.just("") | NAMES),
        unique_by=lambda member: folded(member.name),
        min_size=1,
        max_size=6,
    ).filter(
        lambda members: (
            len({m.number for m in members}) == len(members)
            or all(m.number is None for m in members)
        )
    )
)
def test_what_was_exported_reads_back_the_same(members):
    roster = ClassList(tuple(members))
    again = parse_roster(roster_csv(roster).encode("utf-8-sig"), "again.csv")
    assert again == roster
    assert again.notices == ()


@pytest.mark.parametrize(
    "head",
    [
        "First name,Last name",
        "Surname,Given name",
        "Vorname;Nachname",
        "Name;Vorname",  # as German and French lists have it: the name is the last name
        "Prénom;Nom",
        "Class;Last name;First name;No.",
    ],
)
def test_first_and_last_names_in_columns_of_their_own_are_one_name(head):
    separator = ";" if ";" in head else ","
    cells = {"class": "3b", "no.": "7"}
    columns = [word.casefold() for word in head.split(separator)]
    firsts = {"first name", "given name", "vorname", "prénom"}
    row = separator.join(
        cells.get(column) or ("Mia" if column in firsts else "Berg") for column in columns
    )
    (member,) = parse_roster(f"{head}\n{row}\n".encode(), "list.csv").members
    assert member.name == "Mia Berg"


def test_a_first_name_alone_is_a_name():
    (member,) = parse_roster(b"First name,Last name\nMia,\n", "list.csv").members
    assert member.name == "Mia"


def test_of_very_many_faults_some_are_told_and_the_rest_counted():
    rows = "".join(f"Somebody {n},0\n" for n in range(100))
    with pytest.raises(RosterFaults) as caught:
        parse_roster(f"name,number\n{rows}".encode(), "list.csv")
    assert len(caught.value.faults) == 16
    assert caught.value.faults[-1].endswith("and 85 more")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Product;Price\nApple;3\nBread;2\n", ("Product", "Price")),
        ("Full name\nMia\nBen\n", ("Full name",)),
        ("Seats\n1\n2\n", ("Seats",)),
        ("Kind Vorname;Raum\nMia;5a\n", ("Kind Vorname", "Raum")),
        ("Mia;3b\nBen;4\n", ()),  # two classes, of which one has no letter
        ("Mia;1\nBen;2\n", ()),
        ("Mia;\nBen;2\n", ()),
        ("Mia\nBen\n", ()),
        ("Mia\n", ()),
        ("Reader A\nReader B\n", ()),
        ("Mia;Group A\nBen;Group B\n", ()),
        ("name;room\nMia;5\n", ()),  # one of them is known
    ],
)
def test_a_first_line_that_looks_like_headings_of_which_none_is_known_is_named(text, told):
    roster = parse_roster(text.encode(), "a.csv")
    assert roster.unknown == told
    named = [notice for notice in roster.notices if "looks like headings" in notice]
    assert [", ".join(told) in notice for notice in named] == ([True] if told else [])
    heading = text.startswith("name")  # an unknown one is read as a reader like the others
    assert len(roster.members) == len(text.splitlines()) - heading
