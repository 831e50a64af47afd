"""Transcripts that a person wrote. The WebVTT texts follow the examples of the W3C's WebVTT (section 1, https://www.w3.org/TR/webvtt1/)."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.capture.walk import Recording
from intake.errors import CaptureError
from intake.speech.written import Cue, parse_vtt, plain_segments, read_written, spread, vtt_segments

VOICES = """WEBVTT

00:11.000 --> 00:13.000
<v Roger Bingham>We are in New York City

00:13.000 --> 00:16.000
<v Roger Bingham>We're actually at the Lucern Hotel, just down the street

00:16.000 --> 00:18.000
<v Roger Bingham>from the American Museum of Natural History
"""

EVERYTHING = """WEBVTT - notes of a walk

NOTE started_at 2026-05-14T09:12:03-04:00

STYLE
::cue { color: lime }

REGION
id:fred
width:40%

1
00:00:00.000 --> 00:00:04.000 line:0 position:20% size:60% align:start
- Never drink &lt;liquid&gt; nitrogen &amp; <c.loud.green>smile</c>.

NOTE
This one lasts
two lines

second cue
01:00:04.500 --> 01:00:06.000
<00:00:04.600>Two
<i>lines</i>
"""


def written(folder: Path, name: str, text: str | bytes) -> Recording:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return Recording(path=path, name=name, sha256="0" * 64, kind="transcript", transcript=path)


def test_the_standards_own_example_gives_three_cues_without_voice_tags() -> None:
    """Voice tags name the speaker and are no words."""
    assert parse_vtt(VOICES) == [
        Cue(11.0, 13.0, "We are in New York City"),
        Cue(13.0, 16.0, "We're actually at the Lucern Hotel, just down the street"),
        Cue(16.0, 18.0, "from the American Museum of Natural History"),
    ]


def test_notes_styles_regions_settings_ids_and_entities() -> None:
    """All that the grammar allows beside words is passed over, entities become their characters."""
    assert parse_vtt(EVERYTHING) == [
        Cue(0.0, 4.0, "- Never drink <liquid> nitrogen & smile."), Cue(3604.5, 3606.0, "Two\nlines")]


@pytest.mark.parametrize("change", [lambda t: t.replace("\n", "\r\n"), lambda t: t.replace("\n", "\r"),
                                    lambda t: "\ufeff" + t, lambda t: t.rstrip("\n")])
def test_line_ends_and_byte_order_mark_do_not_matter(change) -> None:  # type: ignore[no-untyped-def]
    """The standard allows three line ends, a byte order mark and no final line end."""
    assert parse_vtt(change(EVERYTHING)) == parse_vtt(EVERYTHING)


def test_an_arrow_begins_a_cue_even_without_a_blank_line() -> None:
    """The standard's parser starts a new cue at each line with an arrow."""
    text = "WEBVTT\n\n00:01.000 --> 00:02.000\none\n00:02.000 --> 00:03.000\ntwo\n"
    assert [c.text for c in parse_vtt(text)] == ["one", "two"]


@pytest.mark.parametrize(("text", "says"), [
    ("no header\n", "first line"),
    ("WEBVTTX\n", "first line"),
    ("WEBVTT\n\n00:00.000 -> 00:01.000\nx\n", "line 3"),
    ("WEBVTT\n\n00:00,000 --> 00:01,000\nx\n", "line 3"),
    ("WEBVTT\n\n00:00.00 --> 00:01.000\nx\n", "line 3"),
    ("WEBVTT\n\n00:61.000 --> 00:62.000\nx\n", "line 3"),
    ("WEBVTT\n\n00:05.000 --> 00:04.000\nx\n", "ends before"),
    ("WEBVTT\n\n00:00.000 --> 00:01.000 colour:red\nx\n", "setting"),
    ("WEBVTT\n\na\nb\nc\n", "neither a cue nor a NOTE"),
])
def test_a_broken_file_is_refused_with_the_line_at_fault(text: str, says: str) -> None:
    """No words may get lost, so what a player would skip is an error here."""
    with pytest.raises(CaptureError, match=says):
        parse_vtt(text)


def test_a_cues_time_is_shared_by_the_length_of_its_words() -> None:
    """Longer words take longer; the words fill the cue without gaps."""
    words = spread(["a", "turntable"], 10.0, 16.0)
    assert [(w.start, w.end) for w in words] == [(10.0, 11.0), (11.0, 16.0)]


def test_plain_text_gets_two_and_a_half_words_a_second() -> None:
    """Notes without times are given the pace of speech, line by line."""
    text = "One two three four five.\n\nNOTE started_at 2026-05-14T09:12:03-04:00\nNOTE that it hums.\n"
    one, two = plain_segments(text)
    assert (one.start, one.end) == (0.0, 2.0)
    assert two.text == "NOTE that it hums."
    assert two.start == 2.5


def test_a_written_transcript_stands_in_for_a_recording(tmp_path: Path) -> None:
    """Its words are certain, and it says that nobody decoded it."""
    transcript = read_written(written(tmp_path, "memo-01.vtt", VOICES))
    assert transcript.duration_s == 18.0
    assert all(w.probability == 1.0 for w in transcript.words())
    assert transcript.options["written"] == "webvtt"
    assert "recording" not in transcript.options


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"caf\xe9", b"WEBVTT\x00"])
def test_text_that_is_not_utf8_is_refused(tmp_path: Path, data: bytes) -> None:
    """Letters must not turn into others silently."""
    with pytest.raises(CaptureError, match="UTF-8"):
        read_written(written(tmp_path, "memo.txt", data))


def test_an_empty_note_has_no_words(tmp_path: Path) -> None:
    """An empty file is no error of the grammar; it only holds nothing."""
    assert list(read_written(written(tmp_path, "memo.txt", "")).words()) == []


def test_cues_come_in_order_of_time() -> None:
    """Segments are sorted by start, however the file has them."""
    text = "WEBVTT\n\n00:05.000 --> 00:06.000\ntwo\n\n00:01.000 --> 00:02.000\none\n"
    assert [s.text for s in vtt_segments(text)] == ["one", "two"]
