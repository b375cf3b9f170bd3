# SPDX-License-Identifier: MIT
"""A level of one's own in the alto clef, from its file to what is known of its reader.

The alto clef has middle C on its middle line (common practice).
"""

from __future__ import annotations

import pytest
from places import VIOLA
from player import Player

from game.app.app import App, AppOptions
from game.levels import UPPER
from game.notation import NOTE_NAMES, Clef, Pitch
from game.paper.progress_html import progress_html
from game.rounds import Terms
from game.screens.play.result import Result
from game.screens.reader.progress import ProgressPage

SIZES = [(1024, 600), (500, 400)]


@pytest.fixture(params=SIZES, ids=["{}x{}".format(*size) for size in SIZES])
def player(request, tmp_path, monkeypatch):
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "viola.toml").write_text(VIOLA.read_text(encoding="utf-8"))
    monkeypatch.setenv("STAVEWISE_LEVELS", str(folder))
    app = App(AppOptions(store=str(tmp_path / "store.db"), size=request.param))
    person = Player(app)
    person.stage.rounds.greet(person.stage.store.add_reader("Anna"))
    person.look()
    yield person
    app.stage.store.close()
    app.stage.sounds.player.close()


def reads(player: Player, prompts: int = 24) -> list[tuple[Pitch, Pitch, str]]:
    """A round in which notes in the alto clef are taken for those of the treble clef.

    Returns:
        Of each the note, what it was taken for, and what the game said.
    """
    (rung,) = (one for one in player.stage.levels.ladder.rungs if one.level.id == "viola")
    compass = player.stage.piano.compass
    player.stage.rounds.begin(Terms.counted(rung.level, rung.text, 3, prompts, compass))
    player.look()
    player.piano(60)
    said = []
    while not isinstance(player.screen, Result):
        prompt = player.screen.live.round.prompts[player.screen.live.round.prompt]
        (note,) = prompt.notes
        player.wait(1.0)
        if note.staff == UPPER and note.sign is None:
            higher = Pitch.parse("E4").step - Pitch.parse("F3").step  # the bottom lines
            taken = prompt.signature.pitch_at(note.pitch.step + higher)
            player.piano(taken.key)
            said.append((note.pitch, taken, player.screen.message))
        player.answer()
        player.wait(3.0)
    return said


def test_a_note_taken_for_one_of_the_treble_clef_is_explained_and_known_of_the_reader(player):
    said = reads(player)
    explained = 0
    for pitches in said:
        shown, taken = (NOTE_NAMES["letters"].name(one, octave=True) for one in pitches[:2])
        because = f"{taken} would be right in the treble clef; here it is {shown}."
        explained += pitches[2] == because
    assert explained >= 0.7 * len(said) > 4  # another kind leads to some of these keys as well
    knowledge = player.stage.sitting.profile.knowledge
    assert {item.clef for item in knowledge.signs} == {Clef.ALTO, Clef.BASS}
    player.stage.go.open_progress()
    player.look()
    page = player.screen
    assert isinstance(page, ProgressPage)
    called = []
    for _ in page._progress.places:
        called += [one.label for one in page.controls if one.id == "place"]
        page._move(1)
        player.look()
    alto = [words for words in called if "alto" in words]
    assert any(words.startswith("C4, 3rd line, alto") for words in alto), alto
    assert len(alto) == len(set(alto)) == 12  # D3 to A4
    assert page._drawn[1].get_width() <= player.stage.window.canvas.width  # the picture
    html = progress_html("Anna", page._progress, player.stage.engraver.engrave, page._names)
    assert "Counting in the alto clef" in html
