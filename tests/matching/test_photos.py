"""Photos to units, or to none."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.capture.walk import Photo
from intake.matching.clocks import estimate_offsets
from intake.matching.photos import match_photos
from intake.matching.types import ClockOffset, Cue, PhotoMatch, Timeline, Visit
from tests.matching.walks import CAMERA, EXAMPLES, SHARED, UNEVEN, ZERO, line, photo, shots, usual

RIGHT = [ClockOffset(CAMERA, 0.0, -0.5, 0.5)]


def placed(times: list[float | None], timeline: Timeline, **more: float) -> list[PhotoMatch]:
    """Matches of photos P01, P02, ... at true seconds, with a clock known to be right."""
    photos = [photo(f"P{i:02d}.JPG", t if t is None else t + 0.001, **more) for i, t in enumerate(times, 1)]
    return list(match_photos(photos, timeline, RIGHT))


@pytest.mark.parametrize("pauses", [True, False])
def test_of_the_example_walks_photos_95_in_100_are_right(pauses: bool, built: ModuleType) -> None:
    """With true spans and the offset unknown, at least 95 percent are right and hardly one wrong goes unflagged."""
    folder = SHARED / "walks" / "built"
    if not folder.is_dir():
        pytest.skip("the reference walks are not beside the checkout")
    right = silent = total = 0
    for name in EXAMPLES:
        case = built.read_case(folder / name, pauses=pauses)
        matches = match_photos(case.photos, case.timeline, estimate_offsets(case.photos, case.timeline))
        good = [m.unit == case.units[m.photo] for m in matches]
        right, total = right + sum(good), total + len(good)
        silent += sum(not ok and not m.reasons for ok, m in zip(good, matches, strict=True))
    assert total == 63
    assert right / total >= 0.95
    assert silent <= 1


def test_a_picture_just_after_the_naming_is_of_that_unit() -> None:
    """The usual picture, some seconds after the naming, is placed surely and needs nobody."""
    match = placed([5.0 + 5], line())[0]
    assert (match.unit, match.reasons) == ("u1", ())
    assert match.confidence > 0.9
    assert match.at == ZERO.replace(second=13, microsecond=1000)


def test_every_usual_picture_finds_its_unit() -> None:
    """First and last pictures of eight units all land where they belong."""
    matches = placed(list(usual()), line())
    expected = [f"u{i + 1}" for i in range(len(UNEVEN)) for _ in range(1 + i % 2)]
    assert [m.unit for m in matches] == expected


def test_a_picture_as_the_talk_ends_is_still_of_that_unit() -> None:
    """A picture in the pause after the talk about a unit belongs to it, if the next has its own."""
    matches = placed([10.0, 31.8, 41.0], line([(5, 31), (36, 60)]))
    assert [m.unit for m in matches] == ["u1", "u1", "u2"]


def test_a_picture_just_before_the_naming_is_of_the_coming_unit() -> None:
    """A unit without a picture at its naming owns the one that came seconds before, when the last unit has its own."""
    matches = placed([10.0, 57.5], line([(5, 31), (60, 90)]))
    assert [m.unit for m in matches] == ["u1", "u2"]


def test_a_close_call_names_both_units_and_the_seconds() -> None:
    """Between two units it is flagged, with how long before the naming it was taken, and the runner-up."""
    match = placed([10.0, 32.3], line([(5, 32), (33, 60)]))[1]
    assert match.confidence < 0.85
    assert {match.unit, match.runner_up} == {"u1", "u2"}
    assert match.reasons == ("between u1 and u2: taken 2.7 s before u2 is named",)


def test_a_return_to_a_unit_takes_its_pictures_too() -> None:
    """A unit that is come back to gets the picture of the return, not only of the first visit."""
    matches = placed([10.0, 41.0, 70.0], line([(5, 30, "u1"), (34, 60, "u2"), (63, 80, "u1")]))
    assert [m.unit for m in matches] == ["u1", "u2", "u1"]


def test_a_run_of_pictures_stays_with_one_unit() -> None:
    """Six pictures within one long talk are all of that unit."""
    matches = placed([12.0, 14.0, 17.0, 25.0, 40.0, 55.0], line([(5, 60), (64, 80)]))
    assert {m.unit for m in matches} == {"u1"}


def test_a_picture_the_speaker_calls_a_mistake_is_of_no_unit() -> None:
    """"Oops, that was a picture of the floor": the picture before it is a stray, and that needs nobody."""
    words = "Oops, that was a picture of the floor."
    cue = Cue("stray", 63.0, 65.0, 0.9, words)
    matches = placed([10.0, 62.2, 73.0], line([(5, 58), (68, 90)], cues=[cue]))
    assert [m.unit for m in matches] == ["u1", None, "u2"]
    assert matches[1].reasons == ()
    assert words in matches[1].why


def test_a_mistake_in_mid_talk_leaves_the_units_other_pictures() -> None:
    """A stray told in the middle of the talk about a unit does not part that unit's own pictures from it."""
    cue = Cue("stray", 31.0, 33.0, 0.9, "Whoops, that was my thumb.")
    matches = placed([10.0, 30.3, 45.0, 70.0], line([(5, 60), (64, 90)], cues=[cue]))
    assert [m.unit for m in matches] == ["u1", None, "u1", "u2"]


def test_a_stray_that_no_word_explains_is_flagged() -> None:
    """A picture in talk about no unit may be of a unit that was not understood: a person looks."""
    match = placed([10.0, 75.0, 125.0], line([(5, 30), (120, 150)]))[1]
    assert match.unit is None
    assert match.reasons


def test_a_picture_long_after_the_recording_is_of_no_unit() -> None:
    """Ten minutes after the last word nothing ties a picture to a unit."""
    match = placed([10.0, 700.0], line([(5, 30), (34, 60)]))[1]
    assert match.unit is None
    assert match.why == "taken while nothing was recorded"


def test_a_photo_without_date_between_two_of_one_unit_is_that_units() -> None:
    """P02 has no date; P01 and P03 are of one unit, so it is too, and nobody needs to look."""
    match = placed([12.0, None, 30.0], line([(5, 60), (64, 80)]))[1]
    assert (match.unit, match.reasons, match.at) == ("u1", (), None)


def test_a_photo_without_date_between_two_units_is_flagged() -> None:
    """Neighbours of two units: placed, but put before a person."""
    match = placed([12.0, None, 71.0], line([(5, 60), (64, 90)]))[1]
    assert match.unit in ("u1", "u2")
    assert any("no date" in reason for reason in match.reasons)


def test_a_photo_without_date_goes_to_the_unit_that_has_none() -> None:
    """Between the pictures of u1 and u3 the one without date is u2's, which otherwise had none; still flagged."""
    match = placed([10.0, None, 71.0], line([(5, 30), (34, 60), (64, 90)]))[1]
    assert match.unit == "u2"
    assert match.reasons


def test_numbers_are_counted_and_not_spelled() -> None:
    """P9 comes before P10."""
    photos = [photo("P9.JPG", None), photo("P8.JPG", 12.0), photo("P10.JPG", 30.0)]
    match = match_photos(photos, line([(5, 60), (64, 80)]), RIGHT)[0]
    assert (match.photo, match.unit) == ("P9.JPG", "u1")


def test_numbers_that_go_against_the_times_place_nothing() -> None:
    """Where files were renumbered, a photo without date is not placed by its number."""
    photos = [photo("P1.JPG", 200.0), photo("P2.JPG", None), photo("P3.JPG", 10.0)]
    match = match_photos(photos, line(), RIGHT)[1]
    assert (match.unit, match.confidence) == (None, 0.0)
    assert "do not follow their times" in match.reasons[0]


def test_a_files_own_time_counts_where_its_neighbours_prove_it() -> None:
    """The file times of the dated photos are all 2 h after their dates, so the undated one's tells too; flagged."""
    times = [12.0, 40.0, 60.0, 118.0, 143.0]
    photos = [photo(f"P{i}.JPG", t, file_time=t + 7200) for i, t in enumerate(times)]
    lost = replace(photo("P9.JPG", None, file_time=178.0 + 7200))
    match = match_photos([*photos, lost], line(), RIGHT)[-1]
    assert match.unit == "u6"
    assert any("the file's" in reason for reason in match.reasons)


def test_file_times_that_disagree_prove_nothing() -> None:
    """File times of a copy, all alike, are not used."""
    photos = [photo(f"P{i}.JPG", t, file_time=9000.0) for i, t in enumerate((12.0, 40.0, 60.0, 118.0))]
    lost = photo("P9.JPG", None, file_time=9000.0)
    assert match_photos([*photos, lost], line(), RIGHT)[-1].at is None


def test_a_clock_that_cannot_be_told_flags_every_photo() -> None:
    """With the offset not known, each photo is placed as well as can be and put before a person."""
    unknown = [ClockOffset(CAMERA, 0.0, -300.0, 300.0, known=False, others=((30.0, 0.4),))]
    for match in match_photos(shots(usual()), line(), unknown):
        assert f"the clock of {CAMERA} cannot be told" in match.reasons


def test_what_is_seen_in_the_picture_decides_a_close_call() -> None:
    """A plate that names u2 settles a picture between u1 and u2."""
    timeline, photos = line([(5, 32), (33, 60)]), [photo("P1.JPG", 10.0), photo("P2.JPG", 32.3)]
    assert match_photos(photos, timeline, RIGHT)[1].confidence < 0.85
    for unit in ("u1", "u2"):
        match = match_photos(photos, timeline, RIGHT, pictured={"P2.JPG": {unit: 100.0}})[1]
        assert match.unit == unit
        assert match.confidence > 0.85


def test_two_cameras_are_placed_each_by_its_own_clock() -> None:
    """Photos of two cameras with different offsets end at the right units."""
    photos = shots([10.0, 40.0], camera="A") + shots([12.0, 42.0], camera="B", offset=3600.0, first=7)
    clocks = [ClockOffset("A", 0.0, -1, 1), ClockOffset("B", 3600.0, 3599, 3601)]
    matches = match_photos(photos, line([(5, 30), (34, 60)]), clocks)
    assert [m.unit for m in matches] == ["u1", "u2", "u1", "u2"]


def test_a_unit_that_is_named_late_has_pictures_as_its_talk_begins() -> None:
    """Somebody who describes a unit for half a minute before naming it shoots it as the talk begins, not only then."""
    first, second, third = (*line().visits[0:1], replace(line().visits[2], named=95.0), *line().visits[3:4])
    timeline = replace(line(), visits=(first, second, third))
    own, = placed([58.5], timeline)
    assert own.unit == second.unit
    assert own.confidence > 0.8


def test_a_picture_after_a_return_that_was_not_understood_is_flagged() -> None:
    """Where the speaker went back to something and no talk was found for it, nobody knows whose the picture is."""
    back = Cue("back", 275.0, 277.0, 0.7, "Oh, wait, the big ones.")
    plain, = placed([281.0], line())
    lost, = placed([281.0], line(cues=[back]))
    assert not any("went back" in r for r in plain.reasons)
    assert any("went back" in r for r in lost.reasons)
    found, = placed([281.0], replace(line(cues=[back]), visits=(*line().visits, Visit("u1", 276.0, 290.0, 277.0))))
    assert not any("went back" in r for r in found.reasons)


def test_guessed_times_are_told() -> None:
    """A transcript without times of its own is a reason to look at each photo."""
    timeline = line()
    guessed = replace(timeline, recordings=(replace(timeline.recordings[0], estimated=True),))
    assert any("no times" in reason for reason in placed([10.0], guessed)[0].reasons)


def test_without_any_unit_photos_are_of_none() -> None:
    """No unit was understood: every photo is of none, flagged."""
    match = placed([10.0], line([], end=60.0))[0]
    assert match.unit is None
    assert match.reasons


def test_no_photos_no_matches() -> None:
    """An empty capture is no error."""
    assert match_photos([], line(), []) == ()


@settings(max_examples=60, deadline=None)
@given(times=st.lists(st.one_of(st.none(), st.floats(-500, 900)), max_size=12),
       spans=st.lists(st.tuples(st.floats(0, 300), st.floats(0, 60)), max_size=6),
       known=st.booleans())
def test_whatever_the_capture_each_photo_gets_one_honest_match(
        times: list[float | None], spans: list[tuple[float, float]], known: bool) -> None:
    """One match a photo, in order, of a unit of the walk or none, with a chance from 0 to 1; twice the same."""
    timeline = line(sorted((a, a + length) for a, length in spans), end=400.0)
    photos: list[Photo] = [photo(f"P{i:02d}.JPG", t) for i, t in enumerate(times)]
    clocks = [ClockOffset(CAMERA, 0.0, -1, 1, known=known)] if known else list(estimate_offsets(photos, timeline))
    matches = match_photos(photos, timeline, clocks)
    assert [m.photo for m in matches] == [p.name for p in photos]
    for m in matches:
        assert m.unit is None or m.unit in {v.unit for v in timeline.visits}
        assert 0.0 <= m.confidence <= 1.0
        assert m.runner_up is None or m.runner_up != m.unit
        assert m.why
        assert m.reasons or m.confidence >= 0.5
    assert matches == match_photos(photos, timeline, clocks)
