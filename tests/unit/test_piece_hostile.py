# SPDX-License-Identifier: MIT
"""Files that are damaged, odd or hostile: read rightly, or refused in one line with the place.

What is right: MusicXML 4.0 (W3C Community Group, 2021): a pitch is what sounds, but for what is
transposed, under an octave line too; divisions, key and transpose hold from where they stand. MEI
5.0: an octave line shifts what is written, of one layer where it names one. ZIP: PKWARE's APPNOTE
6.3.10.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

import pytest
from piece_reading import lines, notices

from game.pieces import PieceError, load_piece

START = (
    "<attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats>"
    "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>"
)
CONTAINER = '<container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>'


def note(name: str, duration: int, kind: str, voice: int = 1, inside: str = "") -> str:
    step, alter, octave = name[0], name[1:-1], name[-1]
    altered = "<alter>1</alter>" if alter else ""
    return (
        f"<note><pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch>"
        f"<duration>{duration}</duration><voice>{voice}</voice><type>{kind}</type>{inside}</note>"
    )


def score(*bars: str) -> str:
    """A part of bars; the first begins with clef, key, time and one division to a quarter."""
    numbered = "".join(f'<measure number="{at}">{bar}</measure>' for at, bar in enumerate(bars, 1))
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
        '<score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="P1">{numbered}</part></score-partwise>'
    )


def attributes(inside: str) -> str:
    return f"<attributes>{inside}</attributes>"


def mei(layer: str, staff: str = "", head: str = "", more: str = "", layers: str = "") -> str:
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" '
        f'xmlns:xi="http://www.w3.org/2001/XInclude">{head}<music><body><mdiv><score><scoreDef>'
        f'<staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2" {staff}/></staffGrp>'
        f'</scoreDef><section><measure n="7"><staff n="1"><layer n="1">{layer}</layer>{layers}'
        f"</staff>{more}</measure></section></score></mdiv></body></music></mei>"
    )


@pytest.fixture
def read(tmp_path):
    def reading(content: str | bytes, name: str = "piece.musicxml"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return load_piece(path)

    return reading


@pytest.fixture
def refused(read, tmp_path):
    def refusal(content: str | bytes, name: str = "piece.musicxml") -> str:
        with pytest.raises(PieceError) as error:
            read(content, name)
        message = str(error.value)
        assert message.startswith(str(tmp_path / name))
        assert "\n" not in message
        return message.removeprefix(str(tmp_path / name))

    return refusal


# Read rightly


def shift(kind: str) -> str:
    inner = f'<direction-type><octave-shift type="{kind}" size="8"/></direction-type>'
    return f"<direction>{inner}</direction>"


BACK = "<backup><duration>4</duration></backup>"


@pytest.mark.parametrize(
    "bar",
    [
        shift("down") + note("E6", 4, "whole") + shift("stop") + BACK + note("C6", 4, "whole", 2),
        note("E6", 4, "whole", 2) + BACK + shift("down") + note("C6", 4, "whole") + shift("stop"),
    ],
)
def test_an_octave_line_of_one_voice_leaves_the_other_where_it_sounds(read, bar):
    assert lines(read(score(START + bar))) == ["1 1: C6 E6"]


def test_an_octave_line_of_one_layer_of_mei_leaves_the_other_where_it_is_written(read):
    first = '<note xml:id="a" pname="e" oct="5" dur="1"/>'
    other = '<layer n="2"><note pname="c" oct="5" dur="1"/></layer>'
    line = '<octave staff="1" {}dis="8" dis.place="above" startid="#a" endid="#a"/>'
    alone = read(mei(first, more=line.format('layer="1" '), layers=other), "one.mei")
    both = read(mei(first, more=line.format(""), layers=other), "both.mei")
    assert (lines(alone), lines(both)) == (["7 1: C5 E6"], ["7 1: C6 E6"])


def test_divisions_that_change_inside_a_bar_and_after_it(read):
    half, quarters = note("C5", 2, "half"), note("D5", 2, "quarter") + note("E5", 2, "quarter")
    bar = half + attributes("<divisions>2</divisions>") + quarters
    found = read(score(START + bar, quarters + quarters))
    assert lines(found) == [
        "1 1: C5", "1 3: D5", "1 4: E5", "2 1: D5", "2 2: E5", "2 3: D5", "2 4: E5",
    ]  # fmt: skip
    assert notices(found) == []


def test_a_key_that_changes_inside_a_bar_holds_from_there_on(read):
    change = attributes("<key><fifths>1</fifths></key>")
    bar = note("F5", 2, "half") + change + note("F#5", 2, "half")
    found = read(score(START + bar, note("F#5", 4, "whole")))
    assert lines(found) == ["1 1: F5", "1 3: F#5", "2 1: F#5"]
    assert notices(found) == []
    assert [slot.signature.fifths for slot in found.slots] == [0, 1, 1]


def test_a_player_who_takes_another_instrument_sounds_otherwise_from_there(read):
    in_b = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    in_a = "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>"
    one = START.replace("</attributes>", f"{in_b}</attributes>") + note("D5", 4, "whole")
    two = attributes(in_a) + note("D5", 4, "whole")
    assert lines(read(score(one, two))) == ["1 1: C5", "2 1: B4"]
    assert lines(read(score(START + note("D5", 4, "whole"), two))) == ["1 1: D5", "2 1: B4"]


def test_a_score_by_the_bar_is_the_same_as_one_by_the_part(read):
    text = (
        '<score-timewise><part-list><score-part id="P1"><part-name/></score-part></part-list>'
        f'<measure number="1"><part id="P1">{START}{note("C5", 4, "whole")}</part></measure>'
        f'<measure number="2"><part id="P1">{note("D5", 4, "whole")}</part></measure>'
        "</score-timewise>"
    )
    assert lines(read(text)) == ["1 1: C5", "2 1: D5"]


def test_bars_of_rest_that_are_printed_as_one_are_bars(read):
    rest = '<note><rest measure="yes"/><duration>4</duration></note>'
    many = attributes("<measure-style><multiple-rest>2</multiple-rest></measure-style>")
    found = read(score(START + many + rest, rest, note("C5", 4, "whole")))
    assert [bar.label for bar in found.bars] == ["1", "2", "3"]
    assert lines(found) == ["3 1: C5"]


def test_a_staff_that_only_later_bars_tell_of(read):
    low = note("C3", 4, "whole", 2, "<staff>2</staff>")
    later = attributes('<staves>2</staves><clef number="2"><sign>F</sign><line>4</line></clef>')
    found = read(score(START + note("C5", 4, "whole"), later + note("D5", 4, "whole") + BACK + low))
    assert lines(found) == ["1 1: C5", "2 1: D5 / C3"]


def test_an_interval_of_transposition_that_no_signature_fits_is_spelled_otherwise(read):
    whole = '<note pname="c" oct="4" dur="1"/>'
    assert lines(read(mei(whole, 'trans.semi="6" trans.diat="0"'), "six.mei")) == ["7 1: F#4"]


def test_an_mei_header_may_hold_anything(read):
    title = "<fileDesc><titleStmt><title>Waltz</title></titleStmt><pubStmt/></fileDesc>"
    head = f'<meiHead>{title}<extMeta><xi:include href="a.mei"/></extMeta></meiHead>'
    found = read(mei('<note pname="c" oct="4" dur="1"/>', head=head), "waltz.mei")
    assert (found.title, lines(found)) == ("Waltz", ["7 1: C4"])


def test_mei_with_a_prefix_is_mei(read):
    text = mei('<note pname="c" oct="4" dur="1"/>')
    prefixed = text.replace("</", "\0").replace("<", "<m:").replace("\0", "</m:")
    assert lines(read(prefixed.replace("xmlns=", "xmlns:m="), "p.mei")) == ["7 1: C4"]


# Refused with the place

C = note("C5", 4, "whole")


@pytest.mark.parametrize(
    ("content", "name", "parts"),
    [
        # numbers that no music has
        (mei('<note pname="c" oct="4" dur="1" dots="-3"/>'), "p.mei", ["bar 7", "dots, '-3'"]),
        (mei('<note pname="c" oct="x" dur="1"/>'), "p.mei", ["bar 7", "oct of <note> is 'x'"]),
        (mei("", layers='</staff><staff n="7">'), "p.mei", ["bar 7", "a staff of which nothing"]),
        ('<mei xmlns="x" a:b="c"/>', "p.mei", ["line 1", "unbound prefix"]),
        (mei("", layers='<layer n="x"/>'), "p.mei", ["bar 7", "n of <layer> is 'x'"]),
        (score(START + note("C5", -4, "whole")), "p.xml", ["bar 1", "duration of -4"]),
        (mei('<note pname="c" oct="4" dur="3"/>'), "p.mei", ["bar 7", "without a length"]),
        (mei('<note pname="c" oct="9999999999" dur="1"/>'), "p.mei", ["bar 7", "oct of <note>"]),
        (mei('<note pname="c" oct="4" dur="1"/>', 'trans.semi="999"'), "p.mei", ["'999'"]),
        (mei('<note pname="c" oct="4" dur="1"/>', 'keysig="9s"'), "p.mei", ["bar 7", "seven"]),
        (
            mei('<note pname="c" oct="4" dur="1"/>', 'meter.count="99999999" meter.unit="4"'),
            "p.mei",
            ["bar 1", "time signature", "'99999999'"],
        ),
        (
            mei('<note pname="c" oct="4" dur="1"/>', 'meter.count="4" meter.unit="0"'),
            "p.mei",
            ["time signature", "'0'"],
        ),
        (score(START.replace("<beats>4", "<beats>44444444") + C), "p.xml", ["time signature"]),
        (score(START.replace("<fifths>0", "<fifths>99") + C), "p.xml", ["bar 1", "99 fifths"]),
        (score(START + attributes("<divisions>0</divisions>")), "p.xml", ["bar 1", "0 divisions"]),
        (
            score(START + note("C5", 4, "whole"), attributes("<divisions>1e9</divisions>")),
            "p.xml",
            ["bar 2", "<divisions> says '1e9'"],
        ),
        (
            score(*(attributes(f"<divisions>{prime}</divisions>") for prime in (4093, 4091, 4079))),
            "p.xml",
            ["bar 3", "do not go together"],
        ),
        (
            score(START.replace("<clef>", "<staves>1000000</staves><clef>")),
            "p.xml",
            ["bar 1", "1000000 staves"],
        ),
        (
            score(START + note("C5", 4, "whole", 1, "<staff>99999</staff>")),
            "p.xml",
            ["bar 1", "99999 staves"],
        ),
        (
            score(
                START + note("C5", 2, "half"),
                note("C5", 2, "half")
                + attributes("<transpose><chromatic>-3</chromatic></transpose>")
                + note("C5", 2, "half"),
            ),
            "p.xml",
            ["bar 2", "transposition"],
        ),
        # XML
        (mei('<xi:include href="a.mei"/>'), "p.mei", ["xi:include", "as one file"]),
        ("<a>" * 50_000, "p.xml", ["line 1, column 301", "within each other"]),
        (
            '<!DOCTYPE a [<!ENTITY b "b">\n<!ENTITY c "&b;&b;">]><a>&c;</a>',
            "p.xml",
            ["line 1", "entities"],
        ),
        (score(START).replace("UTF-8", "punycode"), "p.xml", ["encoding punycode", "UTF-8"]),
        (score(START).replace("UTF-8", "undefined"), "p.xml", ["encoding undefined"]),
        (score(START).replace("UTF-8", "zlib"), "p.xml", ["encoding zlib"]),
        (score(START).replace("UTF-8", "no-such"), "p.xml", ["encoding no-such"]),
        (score(START).replace("UTF-8", "utf-16"), "p.xml", [""]),
        # ABC
        ("X:1\nL:99999999999999999999/1\nK:C\nC|\n", "p.abc", ["line 2", "unit length"]),
        ("X:1\nM:99999999999/4\nK:C\nC|\n", "p.abc", ["line 2", "time signature"]),
        ("X:1\nM:4/0\nK:C\nC|\n", "p.abc", ["line 2", "time signature"]),
        ("X:1\nM:4/4\nK:C\nC4|Z99999999|C4|\n", "p.abc", ["line 4", "bars: '99999999'"]),
        ("X:1\nK:C\nC4|\nC/99999999999999|\n", "p.abc", ["line 4", "99999999999999"]),
        ("X:1\nK:C\nC999999999999999999999 D|\n", "p.abc", ["line 3", "a length of"]),
        ("X:1\nK:C\nC0 D|\n", "p.abc", ["line 3", "'0'"]),
        ("X:1\nK:C\n(99999:2:3CDE|\n", "p.abc", ["line 3", "tuplet"]),
        ("X:1\nK:C octave=99999\nC|\n", "p.abc", ["line 2", "'99999'"]),
        ("X:1\nK:C middle=B\nC|\n", "p.abc", ["line 2", "middle=B"]),
        ("X:1\nK:Fb\nC|\n", "p.abc", ["line 2", "K:Fb"]),
        ("X:1\nL:1/4\nK:C\nV:1\nC4|D4|\nV:2\nC4|\n", "p.abc", ["line 1", "numbers of bars (2, 1)"]),
        ("X:1\nL:1/4\nK:C\nC4>D4>|" + "," * 5000 + "C|\n", "p.abc", ["line 4", "','"]),
    ],
)  # fmt: skip
def test_what_no_music_has_is_refused_with_its_place(refused, content, name, parts):
    message = refused(content, name)
    for part in parts:
        assert part in message


# Archives


def packed(text: str, container: str = CONTAINER, method: int = zipfile.ZIP_DEFLATED) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", method) as archive:
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("score.xml", text)
    return file.getvalue()


PACKED = packed(score(START + note("C5", 4, "whole")))
SIZES = struct.Struct("<III")  # CRC, packed and plain size, in local and central headers


def changed(data: bytes, which: int, by: int) -> bytes:
    """The archive with a wrong CRC (0), packed size (1) or plain size (2) of its score."""
    text = score(START + note("C5", 4, "whole")).encode()
    known = zlib.crc32(text)
    at = data.rindex(struct.pack("<I", known)) + 4 * which  # that of the central directory
    (value,) = struct.unpack_from("<I", data, at)
    return data[:at] + struct.pack("<I", (value + by) % 2**32) + data[at + 4 :]


def test_a_packed_score_is_read(read):
    assert lines(read(PACKED, "p.mxl")) == ["1 1: C5"]


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(changed(PACKED, 0, 1), id="a wrong CRC"),
        pytest.param(changed(PACKED, 1, -40), id="a packed size that is too small"),
        pytest.param(changed(PACKED, 2, -40), id="a plain size that is too small"),
        pytest.param(PACKED[: len(PACKED) // 2], id="cut short"),
        pytest.param(PACKED.replace(b"K\x01", b"?\x01"), id="a directory without its marks"),
        pytest.param(
            PACKED[:120] + bytes(reversed(PACKED[120:200])) + PACKED[200:], id="turned round"
        ),
    ],
)
def test_a_damaged_or_lying_archive_is_refused(refused, data):
    message = refused(data, "p.mxl")
    assert "zip archive" in message and "export" in message


@pytest.mark.parametrize("which", [1, 2])
def test_a_size_that_says_too_much_does_no_harm(read, which):
    """The end of DEFLATE's stream and the checksum tell what belongs to the score."""
    assert lines(read(changed(PACKED, which, 40), "p.mxl")) == ["1 1: C5"]


def test_every_byte_of_an_archive_may_be_wrong(read):
    """Read as it was, or refused: the archive's checksum finds it, or what is in it does."""
    flipped = range(0, len(PACKED), 97)
    assert len(flipped) > 5
    for at in flipped:
        data = PACKED[:at] + bytes([PACKED[at] ^ 0xFF]) + PACKED[at + 1 :]
        try:
            assert lines(read(data, "p.mxl")) == ["1 1: C5"]
        except PieceError as error:
            assert "\n" not in str(error)


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (packed(" " * 40_000_000), "score.xml in it is larger than 8 MB"),
        (packed("", " " * 5_000_000), "META-INF/container.xml in it is larger than 64 kB"),
        (packed("", CONTAINER.replace("/>", ">")), "META-INF/container.xml in it, line 1"),
        (packed("", "<a>" * 9_000), "within each other"),
        (packed("x", CONTAINER, zipfile.ZIP_BZIP2), "packed in a way"),
    ],
)
def test_a_bomb_is_not_unpacked(refused, data, part):
    assert part in refused(data, "p.mxl")
