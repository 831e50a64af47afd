"""A capture, its transcripts and drafts on one line of time."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from intake.capture.walk import Moment, Recording, Walk
from intake.language.draft import Span, UnitDraft
from intake.matching.arrange import arrange
from intake.matching.recordings import place_recordings
from intake.matching.timeline import build_timeline
from intake.matching.types import ClockOffset, Stretch, Timeline, Visit
from intake.speech.transcript import Segment, Transcript, Word
from tests.matching.walks import CAMERA, ZERO, photo

HERE = timezone(timedelta(hours=-4))


def recording(name: str, start: Moment | None, length: float | None = 60.0) -> Recording:
    return Recording(Path(name), name, name, "wav", length, start)


def walk(*recordings: Recording, utc_offset_min: int | None = -240) -> Walk:
    return Walk("w", date(2026, 5, 14), utc_offset_min, recordings)


def transcript(name: str, text: str, *, start: float = 1.0, pace: float = 0.4, **options: str) -> Transcript:
    """Each word takes `pace` seconds; a "..." is a pause of two seconds."""
    words, t = [], start
    for word in text.split():
        if word == "...":
            t += 2.0
            continue
        words.append(Word(word, t, t + pace))
        t += pace
    return Transcript(name, name, 60.0, (Segment(tuple(words)),), options=dict(options))


def at(hour: int, minute: int = 0, *, zone: timezone | None = HERE, source: str = "container", marks: str = "start"
       ) -> Moment:
    return Moment(datetime(2026, 5, 14, hour, minute, tzinfo=zone), source, marks)


def test_recordings_lie_where_their_starts_say() -> None:
    """Two recordings ten minutes apart are ten minutes apart on the line, also where one has its time in UTC."""
    timeline = build_timeline(walk(recording("a", at(9)), recording("b", at(13, 10, zone=UTC))), [], {})
    assert [(r.start, r.end) for r in timeline.recordings] == [(0.0, 60.0), (600.0, 660.0)]
    assert timeline.zero == datetime(2026, 5, 14, 13, 0, tzinfo=UTC)
    assert timeline.moment(90).isoformat() == "2026-05-14T09:01:30-04:00"


def test_a_naive_start_is_the_shops_local_time() -> None:
    """A recording that knows no zone is compared with one that does by the shop's offset from UTC."""
    timeline = build_timeline(walk(recording("a", at(9)), recording("b", at(9, 5, zone=None))), [], {})
    assert timeline.recordings[1].start == 300.0


def test_a_start_from_a_files_own_time_is_not_certain() -> None:
    """A file time may be a copy's: the recording is laid there, but may be moved."""
    timeline = build_timeline(walk(recording("a", at(9, source="file time"))), [], {})
    assert not timeline.certain


def test_a_recording_without_any_start_follows_the_one_before() -> None:
    """It is laid after the others and is not certain."""
    timeline = build_timeline(walk(recording("a", at(9)), recording("b", None)), [], {})
    assert (timeline.recordings[1].start, timeline.recordings[1].certain) == (90.0, False)


def test_a_start_that_a_person_has_set_wins() -> None:
    """`starts` goes before what the file tells."""
    timeline = build_timeline(walk(recording("a", at(9)), recording("b", at(12))), [], {},
                              starts={"b": datetime(2026, 5, 14, 9, 2, tzinfo=HERE)})
    assert timeline.recordings[1].start == 120.0


def test_a_spoken_time_anchors_a_recording_whose_file_time_is_all_there_is() -> None:
    """"It's nine fifteen now", said ten seconds in, puts the start at 09:14:50 of that day."""
    said = transcript("a", "Okay so it's nine fifteen now.", start=9.0, pace=0.5)
    timeline = build_timeline(walk(recording("a", at(18, source="file time"))), [], {"a": said})
    assert timeline.certain
    assert timeline.recordings[0].source == "spoken time"
    assert abs((timeline.moment(0) - datetime(2026, 5, 14, 9, 14, 50, tzinfo=HERE)).total_seconds()) < 2


def test_visits_stand_in_order_of_talk_with_their_naming() -> None:
    """Spans of all units are put in order; each gets the first naming within it; returns are visits too."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 10), Span("a", 40, 50)), named_at=(("a", 3.0), ("a", 5.0))),
              UnitDraft("u2", spans=(Span("a", 12, 38),))]
    timeline = build_timeline(walk(recording("a", at(9))), drafts, {})
    assert timeline.visits == (Visit("u1", 2, 10, 3.0), Visit("u2", 12, 38, None), Visit("u1", 40, 50, None))


def test_spans_that_overlap_are_cut_at_the_later_start() -> None:
    """Nobody talks about two units at once: the earlier visit ends where the next begins."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 30),)), UnitDraft("u2", spans=(Span("a", 20, 40),))]
    timeline = build_timeline(walk(recording("a", at(9))), drafts, {})
    assert [(v.start, v.end) for v in timeline.visits] == [(2, 20), (20, 40)]


def test_units_only_announced_in_a_list_are_visited_where_they_are_talked_about() -> None:
    """"On here I've got a tuner, a deck and speakers" is no talk about the deck; the tuner's begins as it ends."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 20),), named_at=(("a", 3.0), ("a", 11.0))),
              UnitDraft("u2", spans=(Span("a", 2, 9), Span("a", 22, 30)), named_at=(("a", 5.0), ("a", 23.0))),
              UnitDraft("u3", spans=(Span("a", 2, 9), Span("a", 32, 50)), named_at=(("a", 8.0), ("a", 33.0)))]
    timeline = build_timeline(walk(recording("a", at(9))), drafts, {})
    assert timeline.visits == (Visit("u1", 9, 20, 11.0), Visit("u2", 22, 30, 23.0), Visit("u3", 32, 50, 33.0))


def test_a_unit_that_is_only_in_a_list_keeps_its_place() -> None:
    """Where a unit is talked about nowhere else, the list is its visit."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 9), Span("a", 10, 20)), named_at=(("a", 3.0),)),
              UnitDraft("u2", spans=(Span("a", 2, 9),), named_at=(("a", 5.0),))]
    timeline = build_timeline(walk(recording("a", at(9))), drafts, {})
    assert [(v.unit, v.start) for v in timeline.visits] == [("u2", 2), ("u1", 10)]


def test_a_few_words_after_an_aside_are_no_visit() -> None:
    """"Anyway, where was I" after a story names nothing: pictures there are not drawn to the unit before it."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 20), Span("a", 30, 32)), named_at=(("a", 3.0),)),
              UnitDraft("u2", spans=(Span("a", 34, 50),), named_at=(("a", 35.0),))]
    timeline = build_timeline(walk(recording("a", at(9))), drafts, {})
    assert [v.unit for v in timeline.visits] == ["u1", "u2"]


def test_the_words_that_close_a_recording_are_of_no_unit() -> None:
    """The talk about the last unit ends where the speaker says that this was all."""
    said = transcript("a", "It weighs nine kilos. That's it, and I'm turning that heater off.")
    timeline = build_timeline(walk(recording("a", at(9))), [UnitDraft("u1", spans=(Span("a", 1, 6),))], {"a": said})
    assert [q.kind for q in timeline.cues] == ["end"]
    assert timeline.visits[0].end == pytest.approx(timeline.cues[0].start)
    early = transcript("a", "That's it, and I'm off. One. Two. Three.")
    assert build_timeline(walk(recording("a", at(9))), [], {"a": early}).cues == ()


def test_speech_is_parted_at_pauses() -> None:
    """Words that follow each other are one stretch; two seconds without a word part it."""
    timeline = build_timeline(walk(recording("a", at(9))), [], {"a": transcript("a", "one two three ... four five")})
    assert timeline.speech == ((1.0, pytest.approx(2.2)), (pytest.approx(4.2), pytest.approx(5.0)))


def test_words_about_pictures_become_cues() -> None:
    """A stray that is told in words is on the line, with its sentence."""
    timeline = build_timeline(walk(recording("a", at(9))), [],
                              {"a": transcript("a", "Fine. Oops, that was a picture of the floor. Next one.")})
    cue, = timeline.cues
    assert (cue.kind, cue.words) == ("stray", "Oops, that was a picture of the floor.")


def test_guessed_times_give_no_pauses() -> None:
    """Where word times are guessed from the length of the text, pauses mean nothing and are left out."""
    timeline = build_timeline(walk(recording("a", at(9))), [],
                              {"a": transcript("a", "one two ... three", times="estimated")})
    assert timeline.speech == ()
    assert timeline.recordings[0].estimated


def test_a_capture_without_recordings_is_no_error() -> None:
    """Photos alone have a line too, an empty one."""
    timeline = build_timeline(walk(), [], {})
    assert (timeline.recordings, timeline.start, timeline.end) == ((), 0.0, 0.0)


def test_a_recording_of_unknown_start_is_laid_by_its_pictures() -> None:
    """The first recording is certain, the second is not: its pictures say that it began 400 s later than assumed."""
    first = [(5, 31), (34, 50), (55, 110)]
    second = [(6, 20), (26, 60), (62, 90), (97, 103), (110, 150)]
    visits = [Visit(f"u{i}", a, b, a + 2.0) for i, (a, b) in enumerate(first, 1)]
    visits += [Visit(f"u{i}", 150 + a, 150 + b, 152.0 + a) for i, (a, b) in enumerate(second, 4)]
    recordings = (Stretch("a", 0, 115), Stretch("b", 150, 310, certain=False))
    timeline = Timeline(ZERO, recordings, tuple(visits), (), (), -240)
    times = [a + 6 for a, _ in first] + [550 + a + 5.5 for a, _ in second] + [550 + b + 1 for _, b in second[:3]]
    photos = [photo(f"P{i:02d}.JPG", t) for i, t in enumerate(sorted(times))]
    placed = place_recordings(photos, timeline, [ClockOffset(CAMERA, 0.0, -1, 1)])
    assert placed.recordings[1].start == pytest.approx(550.0, abs=4.0)
    assert placed.recordings[1].source == "rhythm of pictures"
    assert placed.visits[3].start == pytest.approx(556.0, abs=4.0)


def test_certain_recordings_are_not_moved() -> None:
    """Nothing is laid anew where every recording knows its start."""
    timeline = Timeline(ZERO, (Stretch("a", 0, 115), Stretch("b", 150, 310)), (), (), (), -240)
    assert place_recordings([], timeline, []) is timeline


def test_the_whole_of_matching_in_one_call() -> None:
    """A capture with drafts and transcripts gives a timeline, an offset a camera and a match a photo."""
    drafts = [UnitDraft("u1", spans=(Span("a", 2, 20),), named_at=(("a", 3.0),)),
              UnitDraft("u2", spans=(Span("a", 24, 50),), named_at=(("a", 26.0),))]
    capture = Walk("w", date(2026, 5, 14), -240, (recording("a", at(9)),),
                   (photo("P1.JPG", 8.0 - 723.0), photo("P2.JPG", 31.0 - 723.0)))       # ZERO is 09:12:03
    found = arrange(capture, drafts, {}, given={"*": 0.0})
    assert [m.unit for m in found.matches] == ["u1", "u2"]
    assert found.offsets[0].how == "given"
    assert found.starts == {}
    assert not any(m.reasons for m in found.matches)
    strict = arrange(capture, drafts, {}, given={"*": 0.0}, look_below=0.999)
    assert all(m.reasons for m in strict.matches)
