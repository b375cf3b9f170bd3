# SPDX-License-Identifier: MIT
"""The search for the level to begin at, at the game; and what is learnt by two copies at once."""

from __future__ import annotations

import pytest
from builders import shipped
from player import Player

from game.app.app import App, AppOptions
from game.levels import Compass, deal
from game.reader import MOST_PROMPTS, LevelSearch, Profile
from game.rounds import Flip, Press, Terms
from game.screens.play.octaves import shift_words
from game.screens.play.placing import PlacementResult, Placing
from game.screens.play.play import Play
from game.screens.play.resume import ResumeOffer
from game.screens.reader.contents import Contents
from game.session.profiles import learn, profile_of, search_of
from game.store import RoundState, Store

pytestmark = pytest.mark.reader("Tester", ladder=True)


IDS = [rung.level.id for rung in shipped().rungs]


def begin(player: Player) -> None:
    player.click_on("find")
    assert isinstance(player.screen, Placing)
    player.piano(60)


def place(player: Player, *, able: bool) -> int:
    """Answer to the end, always right or always wrong; how many prompts it took."""
    taken, before = 0, None
    while isinstance(player.screen, Placing):
        if player.screen.live.record_id != before:
            taken, before = taken + 1, player.screen.live.record_id
        if able:
            player.answer()
        else:
            player.clock += 4.0
            player.piano(player.right_keys()[0] + 1)
            player.wait(1.0)
    assert isinstance(player.screen, PlacementResult)
    return taken


def test_somebody_who_reads_nothing_begins_at_the_first_level(player):
    begin(player)
    assert place(player, able=False) <= MOST_PROMPTS
    player.click_on("begin")
    assert isinstance(player.screen, Play)
    assert player.screen.live.level.id == IDS[0]


def test_a_fast_reader_begins_in_the_upper_half_and_practises_there(player):
    begin(player)
    assert place(player, able=True) <= MOST_PROMPTS
    player.click_on("ladder")
    assert isinstance(player.screen, Contents)
    found = player.stage.sitting.placed
    assert IDS.index(found) > len(IDS) / 2
    assert player.screen.focus == f"level-{found}"
    player.click_on("practice")
    assert isinstance(player.screen, Play)


def test_the_first_prompts_are_gentle_whatever_comes(player):
    begin(player)
    assert IDS.index(player.screen.live.level.id) <= 2


def test_the_staff_stays_where_it_is_when_four_notes_follow_one(player):
    player.stage.levels.new_seed = lambda: 1
    begin(player)
    wide: dict[int, int] = {}
    while isinstance(player.screen, Placing) and 4 not in wide:
        view = player.screen._view
        space = view._space(player.stage.window.canvas)
        wide[len(view.prompt.slots)] = player.stage.engraver.frame(view.prompt, space).size[0]
        player.answer()
    assert wide[1] == wide[4]


def test_every_key_of_the_search_can_be_clicked(player):
    begin(player)
    rungs = player.screen._search.rungs
    keys = {
        key
        for rung in rungs
        for prompt in deal(rung.level, 1, 60)
        for slot in prompt.slots
        for key in slot.keys
    }
    drawn = player.screen._piano
    assert drawn.low <= min(keys) and max(keys) <= drawn.high


def test_one_wrong_press_is_answer_enough(player):
    begin(player)
    first = player.screen.live.record_id
    player.clock += 1.0
    player.piano(player.right_keys()[0] + 1)
    player.wait(1.0)
    assert isinstance(player.screen, Placing)
    assert player.screen.live.record_id != first


def test_a_keyboard_shifted_by_octaves_is_told_of_and_places_nobody(player):
    begin(player)
    player.answer()
    known = player.screen._search
    for _ in range(MOST_PROMPTS - 5):
        player.clock += 1.0
        player.piano(player.right_keys()[0] - 12)
        player.wait(1.0)
    assert isinstance(player.screen, Placing)
    assert player.screen._search == known
    assert "octave too low" in shift_words(player.screen._octaves)
    player.answer()
    assert player.screen._search.placement.prompts == known.placement.prompts + 1
    assert shift_words(player.screen._octaves) == ""


def test_a_search_on_a_keyboard_that_stays_shifted_ends_and_places_nobody(player):
    begin(player)
    for _ in range(MOST_PROMPTS):
        player.clock += 1.0
        player.piano(player.right_keys()[0] - 12)
        player.wait(1.0)
    assert isinstance(player.screen, Contents)
    assert player.stage.sitting.placed == ""


def test_octaves_off_by_other_ways_count_as_any_wrong_answer(player):
    begin(player)
    for shift in (-12, -12, 12, -12, 1, -12, -12):
        player.clock += 1.0
        player.piano(player.right_keys()[0] + shift)
        player.wait(1.0)
    assert player.screen._search.placement.prompts == 7
    assert shift_words(player.screen._octaves) == ""


def test_a_search_goes_on_where_it_was_left(player):
    begin(player)
    for _ in range(3):
        player.answer()
    player.screen.pause()
    player.look()
    player.click_on("end")
    assert isinstance(player.screen, Contents)
    player.click_on("find")
    assert player.screen._search.placement.prompts == 3


def test_it_sets_no_best_offers_no_resumption_and_loses_no_press(player):
    begin(player)
    taken = place(player, able=False)
    store, reader = player.stage.store, player.stage.sitting.reader
    assert store.bests(reader.id) == {}
    player.stage.rounds.greet(reader)
    assert not isinstance(player.screen, ResumeOffer)
    kept = store.records(reader.id, limit=None, state=RoundState.DISCARDED)
    presses = [
        event
        for brief in kept
        for event in store.record(brief.id).events
        if isinstance(event, Press)
    ]
    assert len(presses) == taken


def test_what_it_shows_of_the_reader_is_learnt(player):
    begin(player)
    place(player, able=True)
    assert len(profile_of(player.stage.store, player.stage.sitting.reader.id).knowledge.signs) > 5


def test_a_kept_search_of_another_ladder_or_a_damaged_one_is_begun_anew(player):
    ladder, compass = player.stage.levels.ladder, player.stage.piano.compass
    new = LevelSearch.begin(ladder, compass)
    kept = new.to_json()
    assert LevelSearch.begin(ladder, compass, kept) == new
    for damaged in (
        {},
        {**kept, "levels": kept["levels"][:-1]},
        {**kept, "placement": {}},
        {**kept, "placement": {**kept["placement"], "sure": [0.0, 0.0], "quick": [0.0, 0.0]}},
    ):
        assert LevelSearch.begin(ladder, compass, damaged) == new
    store, reader = player.stage.store, player.stage.sitting.reader
    store.set_setting("placement", "nonsense", reader.id)
    assert search_of(store, reader.id) == (None, "")


def test_a_small_keyboard_is_asked_only_what_it_has():
    small = LevelSearch.begin(shipped(), Compass.of_size(25, 48))
    whole = LevelSearch.begin(shipped(), Compass.of_size(88))
    assert 0 < len(small.rungs) < len(whole.rungs)


def test_no_level_at_all_is_no_search():
    assert LevelSearch.begin(shipped(), Compass(0, 3)) is None


def ended(seed: int, right: bool):
    """A round of one prompt."""
    rung = shipped().rungs[0]
    terms = Terms.counted(rung.level, rung.text, seed, 1, Compass.of_size(88))
    key = next(iter(terms.begin().expected))
    presses = [Press(1.0, key + 12, 70, "")] if not right else []
    return terms.replay([Flip(0.0), *presses, Press(2.0, key, 70, "")])


def test_two_copies_of_the_game_both_teach_one_profile(tmp_path):
    path = tmp_path / "store.db"
    with Store.open(path) as one, Store.open(path) as other:
        reader = one.add_reader("Tester")
        empty = Profile()
        first = learn(one, reader.id, empty, [ended(1, right=False)])
        second = learn(other, reader.id, empty, [ended(2, right=False)])  # knows of none
        third = learn(one, reader.id, first, [ended(3, right=True)])
        kept = profile_of(other, reader.id)
    assert kept.to_json() == third.to_json()
    answers = [
        sum(known.right + known.wrong for known in profile.knowledge.signs.values())
        for profile in (first, second, third)
    ]
    assert answers == sorted(set(answers))


def test_a_damaged_profile_goes_on_from_what_the_game_knows(tmp_path):
    with Store.open(tmp_path / "store.db") as store:
        reader = store.add_reader("Tester")
        known = learn(store, reader.id, Profile(), [ended(1, right=True)])
        store.set_setting("profile", [1, 2], reader.id)
        again = learn(store, reader.id, known, [ended(2, right=True)])
    total = sum(known.right for known in again.knowledge.signs.values())
    assert total > 1.5


def test_who_reads_already_may_have_their_level_found_at_once(tmp_path):
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=(1024, 600)))
    app.first_screen()
    app.go.screen.draw(app.stage.window.canvas)
    find = next(control for control in app.go.screen.controls if control.id == "find")
    find.act()
    assert isinstance(app.go.screen, Placing)
    assert len(app.stage.store.readers()) == 1
    app.stage.store.close()
    app.stage.sounds.player.close()


def test_practice_is_not_called_failed(player):
    player.click_on("counted")
    player.piano(60)
    while isinstance(player.screen, Play):
        player.answer()
    player.click_on("ladder")
    player.click_on("practice")
    player.piano(60)
    while isinstance(player.screen, Play):
        player.clock += 0.5
        player.piano(player.right_keys()[0] + 12)
        player.answer()
    assert "passed" not in player.screen._verdict()


def test_after_a_first_round_practice_and_the_search_are_both_there(player):
    player.click_on("counted")
    player.piano(60)
    while isinstance(player.screen, Play):
        player.answer()
    player.click_on("ladder")
    assert {"practice", "find"} <= {control.id for control in player.screen.controls}
    player.click_on("progress")
    player.click_on("find")
    assert isinstance(player.screen, Placing)
