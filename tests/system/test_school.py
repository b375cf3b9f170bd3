# SPDX-License-Identifier: MIT
"""Classes, members and heats come back as they were kept, on each kind of database."""

from __future__ import annotations

import hashlib

import pytest
from store_builders import NOON, at_once, minutes

from game.reader.names import NameRefused
from game.store import (
    HeatEntry,
    HeatTaken,
    RoundState,
    School,
    Store,
    StoreError,
)

SETUP = {"level": "title = 'Lines ♯'\n", "seed": 2**60, "seats": [{"seat": 1, "name": "Ольга"}]}


@pytest.fixture
def school(store: Store) -> School:
    return store.school


def lines(*numbers: int, word: str = "") -> list[HeatEntry]:
    texts = {n: f'{{"key":60,"t":{n / 7!r},"word":"{word}"}}' for n in numbers}
    return [
        HeatEntry(n, text, hashlib.sha256(text.encode()).hexdigest()) for n, text in texts.items()
    ]


# Classes


def test_a_class_is_offered_until_archived_and_keeps_its_members(school):
    one = school.add_class(" 4b ")
    other = school.add_class("Ξ 5")
    anna = school.add_member(one.id, "Anna")
    school.archive_class(one.id)
    assert school.classes() == (other,)
    assert [(c.name, c.archived) for c in school.classes(True)] == [("4b", True), ("Ξ 5", False)]
    assert school.members(one.id) == (anna,)
    school.archive_class(one.id, archived=False)
    school.rename_class(one.id, "5b")
    assert [c.name for c in school.classes()] == ["5b", "Ξ 5"]


def test_two_classes_cannot_have_one_name(school):
    one = school.add_class("Straße 1")
    other = school.add_class("2")
    with pytest.raises(NameRefused, match="a class has this name"):
        school.add_class("STRASSE  1")
    with pytest.raises(NameRefused):
        school.rename_class(other.id, "strasse 1")
    with pytest.raises(NameRefused):
        school.add_class(" ")
    school.rename_class(one.id, "STRASSE 1")
    assert [c.name for c in school.classes()] == ["STRASSE 1", "2"]


# Members


def test_a_member_can_be_a_seat_and_nothing_more(school):
    room = school.add_class("4b").id
    seat = school.add_member(room, seat=7)
    assert (seat.name, seat.seat) == ("", 7)
    with pytest.raises(NameRefused, match="seat 7"):
        school.add_member(room, "  ", 7)
    named = school.add_member(room, "Ben", 7)  # a name tells them apart
    assert school.members(room) == (seat, named)
    with pytest.raises(NameRefused, match="neither"):
        school.add_member(room)
    with pytest.raises(NameRefused, match="1 or more"):
        school.add_member(room, seat=0)


def test_the_same_name_may_be_in_two_classes_but_not_twice_in_one(school):
    first, second = (school.add_class(name).id for name in ("4a", "4b"))
    school.add_member(first, "Anna")
    school.add_member(second, "Anna")
    with pytest.raises(NameRefused, match="somebody in the class"):
        school.add_member(first, " ANNA")
    assert len(school.members(first)) == len(school.members(second)) == 1


def test_a_members_name_seat_and_reader_can_be_changed_one_by_one(store, school):
    room = school.add_class("4b").id
    member = school.add_member(room, "Anna", 3)
    reader = store.add_reader("Anna").id
    school.link_member(member.id, reader)
    school.rename_member(member.id, "Ана")
    school.seat_member(member.id, 4)
    (now,) = school.members(room)
    assert (now.name, now.seat, now.reader_id, now.archived) == ("Ана", 4, reader, False)
    school.link_member(member.id, None)
    school.rename_member(member.id, "")
    (now,) = school.members(room)
    assert (now.name, now.seat, now.reader_id) == ("", 4, None)
    school.add_member(room, "Ben", 5)
    with pytest.raises(NameRefused):
        school.seat_member(member.id, None)
    school.add_member(room, "", 6)
    with pytest.raises(NameRefused):
        school.seat_member(member.id, 6)
    with pytest.raises(NameRefused):
        school.rename_member(member.id, "BEN")


def test_an_archived_member_is_not_offered_and_not_lost(school):
    room = school.add_class("4b").id
    member = school.add_member(room, "Anna")
    school.archive_member(member.id)
    assert school.members(room) == ()
    assert [m.name for m in school.members(room, include_archived=True)] == ["Anna"]
    school.archive_member(member.id, archived=False)
    assert school.members(room) == (member,)


def test_an_import_doubles_nobody_and_brings_the_archived_back(school):
    room = school.add_class("4b").id
    anna = school.add_member(room, "Anna", 1)
    ben = school.add_member(room, "Ben")
    school.archive_member(ben.id)
    rows = [("ANNA", None), ("Ольга", None), ("ben", None), ("", 4), ("", 4), ("ольга", 2)]
    done = school.import_members(room, rows)
    assert [(m.name, m.seat) for m in done.added] == [("Ольга", None), ("", 4)]
    assert done.kept == (anna, ben)
    assert done.returned == (ben,)
    assert school.members(room) == (anna, ben, *done.added)
    again = school.import_members(room, rows)
    assert (again.added, len(again.kept), again.before) == ((), 4, ())


def test_a_seat_in_a_list_is_taken_over_and_none_given_takes_none_away(school):
    room = school.add_class("4b").id
    for name, seat in (("Anna", 1), ("Ben", 2), ("Cem", 3), ("Dora", None)):
        school.add_member(room, name, seat)
    done = school.import_members(
        room, [("anna", 2), ("Ben", 1), ("Cem", None), ("Dora", 4), ("Eva", 5)]
    )
    seats = {member.name: member.seat for member in school.members(room)}
    assert seats == {"Anna": 2, "Ben": 1, "Cem": 3, "Dora": 4, "Eva": 5}
    assert [(m.name, was) for m, was in done.reseated] == [("Anna", 1), ("Ben", 2), ("Dora", None)]


@pytest.mark.parametrize(
    "rows",
    [
        [("Ben", 1)],  # Anna has it
        [("Eva", 2), ("Ben", None)],
        [("Eva", 7), ("Ben", 7)],
        [("", 2)],  # a number without a name is a seat as well
    ],
)
def test_a_seat_that_two_would_have_is_named_and_nothing_is_changed(school, rows):
    room = school.add_class("4b").id
    before = (school.add_member(room, "Anna", 1), school.add_member(room, "Ben", 2))
    with pytest.raises(NameRefused, match=r"4b: number \d would be that of .+ and .+\. Give"):
        school.import_members(room, [("Zoë", None), *rows])
    assert school.members(room, include_archived=True) == before


def test_the_seat_of_somebody_archived_is_free(school):
    room = school.add_class("4b").id
    school.archive_member(school.add_member(room, "Anna", 1).id)
    assert school.import_members(room, [("Ben", 1)]).added[0].seat == 1


# Undone


def test_an_import_undone_leaves_the_class_as_it_was(school):
    room = school.add_class("4b").id
    anna, ben = school.add_member(room, "Anna", 1), school.add_member(room, "Ben")
    school.archive_member(ben.id)
    before = school.members(room, include_archived=True)
    done = school.import_members(room, [("Anna", 9), ("Ben", 1), ("Eva", 3), ("", 4)])
    assert len(school.members(room)) == 4
    school.undo_imports([done])
    assert school.members(room, include_archived=True) == before
    assert school.members(room) == (anna,)


def test_lists_of_several_classes_are_taken_in_all_or_none(school):
    room = school.add_class("4b").id
    school.add_member(room, "Anna", 1)
    with pytest.raises(NameRefused, match="4b: number 1"):
        school.import_classes([("4a", [("Eva", 1)]), ("4B", [("Ben", 1)])])
    assert [one.name for one in school.classes(include_archived=True)] == ["4b"]
    done = school.import_classes([("4a", [("Eva", 1)]), ("4B", [("Ben", 2)])])
    assert [(one.of.name, one.made) for one in done] == [("4a", True), ("4b", False)]
    assert [member.name for member in school.members(room)] == ["Anna", "Ben"]


def test_a_class_that_was_made_or_brought_back_for_a_list_goes_with_it(school):
    room = school.add_class("4b").id
    school.archive_class(room)
    done = school.import_classes([("4a", [("Eva", 1)]), ("4b", [("Ben", 2)])])
    assert [one.name for one in school.classes()] == ["4b", "4a"]
    school.undo_imports(done)
    (left,) = school.classes(include_archived=True)
    assert (left.id, left.archived) == (room, True)
    assert school.members(room, include_archived=True) == ()
    assert school.add_class("4a").name == "4a"  # the name is free again


def test_who_has_played_since_is_archived_instead_of_deleted(store, school):
    done = school.import_classes([("4a", [("Eva", 1)])])
    school.begin_heat("h", SETUP, NOON, done[0].of.id)
    school.undo_imports(done)
    assert school.classes() == ()
    (left,) = school.classes(include_archived=True)
    (eva,) = school.members(left.id, include_archived=True)
    assert (eva.name, eva.archived) == ("Eva", True)
    other = school.import_classes([("4b", [("Ben", 1), ("Mia", 2)])])
    reader = store.add_reader("Ben")
    school.link_member(other[0].added[0].id, reader.id)
    school.undo_imports(other)
    left = next(one for one in school.classes(include_archived=True) if one.name == "4b")
    assert [m.name for m in school.members(left.id, include_archived=True)] == ["Ben"]
    assert left.archived


def test_an_import_with_a_fault_adds_nobody(school):
    room = school.add_class("4b").id
    for fault in ("a\0b", "x" * 81):
        with pytest.raises(NameRefused):
            school.import_members(room, [("Anna", None), (fault, None)])
    assert school.members(room) == ()


def test_five_hundred_names_are_imported_at_once(school):
    room = school.add_class("all").id
    rows = [(f"Reader {n}", n + 1) for n in range(500)]
    assert len(school.import_members(room, rows).added) == 500
    assert [(m.name, m.seat) for m in school.members(room)] == rows


def test_what_is_not_there_is_named(school):
    room = school.add_class("4b").id
    member = school.add_member(room, "Anna").id
    for ask, words in (
        (lambda: school.rename_class(9, "x"), "no class 9"),
        (lambda: school.add_member(9, "x"), "no class 9"),
        (lambda: school.import_members(9, []), "no class 9"),
        (lambda: school.archive_member(9), "no member 9"),
        (lambda: school.link_member(member, 9), "no reader 9"),
        (lambda: school.add_member(room, "x", reader_id=9), "no reader 9"),
        (lambda: school.heat("nowhere"), "no heat nowhere"),
    ):
        with pytest.raises(StoreError, match=words):
            ask()


IMPORTS = """
import sys
from game.store import Store
with Store.open(sys.argv[1]) as store:
    print("ready", flush=True)
    sys.stdin.readline()
    done = store.school.import_members(1, [(f"Reader {n}", None) for n in range(60)])
    print(len(done.added), len(done.kept))
"""


def test_two_rooms_that_import_the_same_list_at_once_double_nobody(stores_url):
    with Store.open(stores_url) as store:
        room = store.school.add_class("4b").id
    said = at_once(IMPORTS, *[(stores_url,)] * 2)
    counts = [tuple(map(int, words.split())) for words in said]
    assert sum(added for added, _ in counts) == 60
    assert {added + kept for added, kept in counts} == {60}
    with Store.open(stores_url) as store:
        assert len(store.school.members(room)) == 60


# Heats


def test_a_heat_comes_back_line_by_line_with_its_result(store, school, stores_url):
    room = school.add_class("4b").id
    assert school.begin_heat("h-1", SETUP, NOON, room)
    first, *rest = lines(0, 1, 2, 3)
    assert school.append_heat_entries("h-1", [first])
    assert school.append_heat_entries("h-1", rest)
    kept = school.heat("h-1")
    assert (kept.uuid, kept.class_id, kept.setup, kept.started) == ("h-1", room, SETUP, NOON)
    assert (kept.state, kept.result, kept.entries) == (RoundState.OPEN, None, (first, *rest))
    assert [heat.uuid for heat in school.open_heats()] == ["h-1"]
    assert school.finish_heat("h-1", {"standings": [1, 2.5, None]})
    store.close()
    with Store.open(stores_url) as again:
        kept = again.school.heat("h-1")
        assert (kept.state, kept.result) == (RoundState.FINISHED, {"standings": [1, 2.5, None]})
        assert kept.entries == (first, *rest)
        assert again.school.open_heats() == ()


@pytest.mark.parametrize(
    "text", ['{"name":"Zoë 山田 👩‍🎤"}', "", '"\\u0000"', "  two  blanks ", "\n"]
)
def test_the_exact_text_of_a_line_is_kept(school, text):
    school.begin_heat("h", {}, NOON)
    school.append_heat_entries("h", [HeatEntry(0, text, "x")])
    assert school.heat("h").entries == (HeatEntry(0, text, "x"),)


def test_a_line_that_comes_twice_is_there_once(school):
    school.begin_heat("h", SETUP, NOON)
    school.append_heat_entries("h", lines(0, 1))
    school.append_heat_entries("h", lines(1, 2))
    school.begin_heat("h", SETUP, NOON)
    assert school.heat("h").entries == tuple(lines(0, 1, 2))


def settled(store: Store) -> None:
    """On a server, a thread brings what was played; reading waits for it."""
    store.readers()


def test_another_text_for_a_line_is_told_and_both_are_kept(store, school):
    school.begin_heat("h", SETUP, NOON)
    school.append_heat_entries("h", lines(0, 1))
    settled(store)
    with pytest.raises(HeatTaken, match="another copy"):
        school.append_heat_entries("h", lines(1, 2, word="other"))
        settled(store)
        school.append_heat_entries("h", lines(3, word="other"))
    settled(store)
    assert school.heat("h").entries == tuple(lines(0, 1))
    # What followed the conflict is kept apart with it: it was not played after these lines.
    assert school.refused("h")[:2] == tuple(lines(1, 2, word="other"))
    assert school.append_heat_entries("h", lines(2))  # taken up again from what is there
    assert school.heat("h").entries == tuple(lines(0, 1, 2))


def test_another_heat_of_one_name_is_told(store, school):
    school.begin_heat("h", SETUP, NOON)
    settled(store)
    with pytest.raises(HeatTaken):
        school.begin_heat("h", SETUP | {"seed": 1}, NOON)
        settled(store)
        school.append_heat_entries("h", lines(0))
    assert school.heat("h").setup == SETUP


def test_a_finished_heat_stays_finished_and_a_discarded_one_is_not_offered(school):
    for name in "ab":
        school.begin_heat(name, {}, NOON)
    school.finish_heat("a", {"n": 1})
    for name in "ab":
        school.discard_heat(name)
    assert school.open_heats() == ()
    assert [school.heat(name).state for name in "ab"] == [RoundState.FINISHED, RoundState.DISCARDED]
    assert school.heat("a").result == {"n": 1}


def test_the_heats_of_a_class_are_newest_first(school):
    room = school.add_class("4b").id
    for name, minute, class_id in (("a", 1, room), ("b", 3, room), ("c", 2, None), ("d", 4, room)):
        school.begin_heat(name, {}, minutes(minute), class_id)
        if name != "d":
            school.finish_heat(name, None)
    assert [heat.uuid for heat in school.heats(room)] == ["b", "a"]
    assert [heat.uuid for heat in school.heats()] == ["b", "c", "a"]


def test_what_cannot_be_kept_is_refused_before_it_can_block_the_rest(school):
    school.begin_heat("h", {}, NOON)
    for ask in (
        lambda: school.begin_heat("", {}, NOON),
        lambda: school.begin_heat("x" * 65, {}, NOON),
        lambda: school.begin_heat("i", {"x": float("nan")}, NOON),
        lambda: school.begin_heat("i", {"x": {1}}, NOON),
        lambda: school.begin_heat("i", {}, NOON.replace(tzinfo=None)),
        lambda: school.append_heat_entries("h", [HeatEntry(-1, "", "")]),
        lambda: school.append_heat_entries("h", [HeatEntry(2**31, "", "")]),
        lambda: school.append_heat_entries("h", [HeatEntry(0, "\ud800", "")]),
        lambda: school.append_heat_entries("h", [HeatEntry(0, "\0", "")]),
        lambda: school.finish_heat("h", float("inf")),
    ):
        with pytest.raises(ValueError):
            ask()
    assert school.append_heat_entries("h", [HeatEntry(0, "{}", "x")])
    assert school.heat("h").entries == (HeatEntry(0, "{}", "x"),)
