# SPDX-License-Identifier: MIT
"""The results are printed on the paper that the teacher has."""

from __future__ import annotations

import pygame
import pytest
from pypdf import PdfReader
from teacher import Teacher

from game.app.app import App, AppOptions
from game.paper import PAPERS
from game.screens.school.paper import PAPER_NAMES, usual_paper

POINTS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}  # ISO 216; ANSI/ASME Y14.1


@pytest.mark.parametrize(
    ("environ", "paper"),
    [
        ({"LANG": "en_US.UTF-8"}, "Letter"),
        ({"LANG": "fr_CA.UTF-8"}, "Letter"),
        ({"LANG": "en_GB.UTF-8"}, "A4"),
        ({"LANG": "de_AT@euro"}, "A4"),
        ({"LANG": "C.UTF-8"}, "A4"),
        ({"LANG": "en_US.UTF-8", "LC_PAPER": "de_DE.UTF-8"}, "A4"),
        ({"LANG": "de_DE.UTF-8", "LC_PAPER": "de_DE", "LC_ALL": "es_MX.UTF-8"}, "Letter"),
    ],
)
def test_the_country_says_which_paper_is_usual(environ, paper):
    assert usual_paper(environ) == paper


def test_both_sizes_can_be_printed():
    assert set(PAPER_NAMES) == set(PAPERS)


@pytest.mark.parametrize(("width", "height"), [(1024, 600), (1280, 720)])
def test_the_paper_is_chosen_on_the_result_and_kept(tmp_path, monkeypatch, width, height):
    monkeypatch.setenv("LC_ALL", "en_GB.UTF-8")
    monkeypatch.setattr("game.screens.school.classroom.documents_folder", lambda: tmp_path)
    store = str(tmp_path / "store.db")
    teacher = Teacher(App(AppOptions(store=store, size=(width, height))))
    teacher.plug("piano")
    teacher.new_class("3b", "Mia")
    teacher.begin(prompts=6)
    teacher.press("piano", 60)
    teacher.pass_time(3.1)
    teacher.play_out(1, "piano")
    teacher.type(pygame.K_SPACE)
    assert "Paper: A4" in teacher.labels()
    for paper in ("A4", "Letter"):
        teacher.click_on("page")
        for name in ("slips", "result"):
            files = tmp_path.glob(f"*/{name} with names.pdf")
            newest = max(files, key=lambda path: path.stat().st_mtime_ns)
            box = PdfReader(newest).pages[0].mediabox
            size = float(box.width), float(box.height)
            assert size == pytest.approx(POINTS[paper], abs=0.01)
        teacher.click_on("paper")
    teacher.click_on("paper")  # Letter once more, which is kept
    rects = [control.rect for control in teacher.screen.controls]
    assert all(one.collidelist(rects[n + 1 :]) < 0 for n, one in enumerate(rects))
    teacher.click_on("done")
    teacher.click_on("past")
    teacher.type(pygame.K_RETURN)
    assert "Paper: Letter" in teacher.labels()
    teacher.stage.store.close()
    teacher.stage.sounds.player.close()
