# SPDX-License-Identifier: MIT
"""Classes on the command line: listed, filled from a list, written again, archived."""

from __future__ import annotations

import io
import sys

import pytest
from command_line import refused, told

from game.cli import main


@pytest.fixture(autouse=True)
def own_store(monkeypatch, tmp_path, alone):
    monkeypatch.chdir(tmp_path)


def write(tmp_path, name: str, text: str | bytes) -> str:
    (tmp_path / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    return name


def said(capsys, *argv: str) -> tuple[str, str]:
    """Run a command that must succeed; what it printed, and what it remarked."""
    assert main(list(argv)) == 0
    return capsys.readouterr()


def test_a_list_is_taken_in_twice_and_nobody_is_doubled(capsys, tmp_path):
    path = write(tmp_path, "5a.csv", "name;number\nMia;1\nZoë;\n")
    first = told(capsys, "class", "import", path)
    assert first == {
        "format": 1,
        "file": "5a.csv",
        "classes": [
            {
                "name": "5a",
                "made": True,
                "added": [{"name": "Mia", "number": 1}, {"name": "Zoë", "number": None}],
                "kept": [],
                "changed": [],
                "returned": [],
            }
        ],
        "notices": [],
    }
    write(tmp_path, "5a.csv", "name;number\nMia;2\nZoë;1\n")
    (again,) = told(capsys, "class", "import", path)["classes"]
    assert (again["made"], again["added"]) == (False, [])
    assert again["changed"] == [
        {"name": "Mia", "number": 2, "before": 1},
        {"name": "Zoë", "number": 1, "before": None},
    ]
    assert told(capsys, "class", "list")["classes"] == [
        {"name": "5a", "archived": False, "readers": 2}
    ]


def test_what_was_done_is_told_in_words(capsys, tmp_path):
    write(tmp_path, "school.csv", "name,class\nMia,5a\nBen,5b\nMia,5a\n".encode("latin-1"))
    out, err = said(capsys, "class", "import", "school.csv")
    assert out.splitlines() == [
        "5a (new): 2 added, 0 there before",
        "5b (new): 1 added, 0 there before",
    ]
    assert "the second is now Mia (2)" in err
    out, _ = said(capsys, "class", "list")
    assert "5a" in out and "5b" in out


def test_what_is_exported_reads_back_the_same(capsys, tmp_path):
    write(tmp_path, "a.csv", 'name,number,class\n"=1+1",1,5a\n"Okafor, Mia",,5a\n,7,5a\n')
    said(capsys, "class", "import", "a.csv")
    before = told(capsys, "class", "export", "5A")
    assert before["members"] == [
        {"name": "=1+1", "number": 1},
        {"name": "Okafor, Mia", "number": None},
        {"name": "", "number": 7},
    ]
    said(capsys, "class", "export", "5a", "out.csv")
    (taken,) = told(capsys, "class", "import", "out.csv")["classes"]
    assert (taken["added"], taken["changed"], taken["kept"]) == ([], [], before["members"])
    out, _ = said(capsys, "class", "export", "5a")
    assert out.splitlines()[0] == "name,number,class"
    (line,) = refused(capsys, "class", "export", "5a", "out.csv")
    assert "there already" in line
    said(capsys, "class", "export", "5a", "out.csv", "--force")


def test_a_list_of_another_class_is_refused_until_it_is_said_which_is_meant(capsys, tmp_path):
    write(tmp_path, "a.csv", "name,class\nMia,5b\n")
    (line,) = refused(capsys, "class", "import", "a.csv", "--class", "5a")
    assert "names 5b, and --class says 5a" in line and "--anyway" in line
    assert told(capsys, "class", "list")["classes"] == []
    told(capsys, "class", "import", "a.csv", "--class", "5a", "--anyway")
    assert [one["name"] for one in told(capsys, "class", "list")["classes"]] == ["5a"]
    write(tmp_path, "b.csv", "name,class\nMia,5b\nBen,5c\n")
    (line,) = refused(capsys, "class", "import", "b.csv", "--class", "5a", "--anyway")
    assert "leave out --class" in line


def test_of_several_classes_one_takes_its_own(capsys, tmp_path):
    write(tmp_path, "a.csv", "name,class\nMia,5A\nBen,5b\nEva,\n")
    done = told(capsys, "class", "import", "a.csv", "--class", "5a")
    (taken,) = done["classes"]
    assert [member["name"] for member in taken["added"]] == ["Mia", "Eva"]
    assert "1 of other classes left out" in done["notices"][0]


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("none.csv", None, "there is no such file"),
        (".", None, "is a folder"),
        ("a.ods", b"PK\x03\x04", "an OpenDocument spreadsheet, not a text file; save it as CSV"),
        ("a.csv", bytes(range(256)), "not a text file"),
        ("a.csv", b"Mia,1\nBen,1\n", "line 2: number 1 is taken by line 1"),
        ("a.csv", b"", "there is no reader in it"),
    ],
)
def test_a_list_that_cannot_be_used_is_told_and_nothing_is_made(
    capsys, tmp_path, name, data, words
):
    if data is not None:
        write(tmp_path, name, data)
    (line,) = refused(capsys, "class", "import", name)
    assert words in line
    assert told(capsys, "class", "list")["classes"] == []


def test_a_seat_that_two_would_have_is_told_and_no_class_is_changed(capsys, tmp_path):
    write(tmp_path, "a.csv", "name,number,class\nMia,1,5b\n")
    said(capsys, "class", "import", "a.csv")
    write(tmp_path, "b.csv", "name,number,class\nZoë,1,5a\nBen,1,5b\n")
    (line,) = refused(capsys, "class", "import", "b.csv")
    assert line.startswith("5b: number 1 would be that of Mia and Ben. Give one of them another")
    assert [one["name"] for one in told(capsys, "class", "list")["classes"]] == ["5b"]


def test_a_class_is_archived_and_brought_back(capsys, tmp_path):
    write(tmp_path, "5a.csv", "Mia\n")
    said(capsys, "class", "import", "5a.csv")
    said(capsys, "class", "archive", "5a")
    assert told(capsys, "class", "list")["classes"][0]["archived"]
    assert [m["name"] for m in told(capsys, "class", "export", "5a")["members"]] == ["Mia"]
    said(capsys, "class", "archive", "5a", "--back")
    assert not told(capsys, "class", "list")["classes"][0]["archived"]


@pytest.mark.parametrize("command", ["export", "archive"])
def test_a_class_that_is_not_there_is_named_with_those_that_are(capsys, tmp_path, command):
    write(tmp_path, "5a.csv", "Mia\n")
    said(capsys, "class", "import", "5a.csv")
    (line,) = refused(capsys, "class", command, "5x")
    assert "'5x'" in line and "5a" in line


def test_what_does_not_go_together_is_told(capsys):
    assert "no file" in refused(capsys, "class", "export", "5a", "f.csv", "--json")[0]


PRICES = "Product;Price\nApple;3\nBread;2\nMilk;1\n"


class Terminal(io.StringIO):
    """Somebody at a terminal, and what they answer."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (PRICES, "4 classes, 4 readers: Price (1, new), 3 (1, new), 2 (1, new), 1 (1, new)"),
        (PRICES, "Product, Price"),
        ("name,class\nApple,3\nBread,2\n", "2 classes, 2 readers: 3 (1, new), 2 (1, new)"),
        ("Full name\nMia\n", "1 class, 2 readers: a (2, new)"),
        ("Mia,1a\n" + "".join(f"Ben,{n}b\n" for n in range(20)), "and 13 more"),
    ],
)
def test_what_looks_like_no_class_list_is_taken_only_anyway(capsys, tmp_path, text, words):
    write(tmp_path, "a.csv", text)
    lines = refused(capsys, "class", "import", "a.csv")
    assert words in " ".join(lines) and "--anyway" in lines[-1]
    assert told(capsys, "class", "list")["classes"] == []
    said(capsys, "class", "import", "a.csv", "--anyway")
    assert told(capsys, "class", "list")["classes"]


@pytest.mark.parametrize(("answer", "taken"), [("y", 4), ("Yes", 4), ("n", 0), ("", 0)])
def test_at_a_terminal_it_is_asked(capsys, tmp_path, monkeypatch, answer, taken):
    write(tmp_path, "a.csv", PRICES)
    shown = Terminal()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdin", Terminal(f"{answer}\n"))
        patch.setattr(sys, "stderr", shown)
        assert main(["class", "import", "a.csv"]) == (0 if taken else 1)
    assert "4 classes, 4 readers" in shown.getvalue() and "Take it in?" in shown.getvalue()
    capsys.readouterr()
    assert len(told(capsys, "class", "list")["classes"]) == taken


def test_a_list_into_classes_that_are_there_needs_no_answer(capsys, tmp_path):
    write(tmp_path, "a.csv", "name,class\nMia,5a\nBen,5b\nAda,5c\n")
    said(capsys, "class", "import", "a.csv", "--anyway")
    write(tmp_path, "b.csv", "name,class\nTom,5a\nBen,5B\nZoë,5d\n")
    out, _ = said(capsys, "class", "import", "b.csv")
    assert "5d (new): 1 added" in out
