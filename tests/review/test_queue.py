"""The order in which questions are put."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from intake.records.heads import Head
from intake.review.queue import Queue, costs

FIELDS = ["serial", "model", "maker", "stage", "issues", "cosmetic", "photos", "unknown"]


def head(field: str, *, about: str = "w/u1", sure: float = 0.5, blank: bool = False, number: int = 1) -> Head:
    return Head("value", number, about.partition("/")[0], about, "U0001", field, f"{field}.{number}", sure, blank)


heads = st.lists(st.builds(
    lambda field, unit, walk, sure, blank: (field, f"w{walk}/u{unit}", sure, blank), st.sampled_from(FIELDS),
    st.integers(1, 4), st.integers(1, 2), st.floats(0, 1), st.booleans()), max_size=25).map(
        lambda rows: [head(f, about=a, sure=s, blank=b, number=n) for n, (f, a, s, b) in enumerate(rows)])


def test_serial_and_model_come_before_cosmetics() -> None:
    """However unsure a cosmetic note is, what the thing is goes first."""
    queue = Queue([head("cosmetic", sure=0.0), head("model", about="w/u2", sure=0.8), head("serial", about="w/u3")],
                  costs())
    assert [h.field for h in queue] == ["serial", "model", "cosmetic"]


def test_the_less_sure_of_two_alike_goes_first() -> None:
    """Of two models the likelier error is asked first."""
    queue = Queue([head("model", sure=0.8), head("model", about="w/u2", sure=0.3)], costs())
    assert [h.about for h in queue] == ["w/u2", "w/u1"]


def test_a_blank_costs_less_than_a_value() -> None:
    """A blank is never silently wrong, so a doubtful value goes before it."""
    queue = Queue([head("serial", blank=True, sure=0.4), head("serial", about="w/u2", sure=0.4)], costs())
    assert [h.blank for h in queue] == [False, True]


@given(heads)
def test_a_unit_in_hand_is_settled_before_the_next(made: list[Head]) -> None:
    """A unit's questions are never broken up; units come by their first round, the dearest there first; and within a
    unit round after round."""
    table, order = costs(), list(Queue(made, costs()))
    abouts = [h.about for n, h in enumerate(order) if n == 0 or order[n - 1].about != h.about]
    assert len(abouts) == len(set(abouts))
    rank = []
    for about in abouts:
        rounds = [table.round.get(h.field, table.rounds) for h in order if h.about == about]
        assert rounds == sorted(rounds)
        first = [table.loss(h) for h in order
                 if h.about == about and table.round.get(h.field, table.rounds) == rounds[0]]
        rank.append((rounds[0], -max(first)))
    assert rank == sorted(rank)


def test_number_and_grouping_are_neighbours() -> None:
    """Both are answered by one look, so nothing is asked between them, whichever is the less sure."""
    for sure in (0.2, 0.9):
        queue = Queue([head("quantity", sure=0.5), head("maker", sure=0.5), head("serial", sure=0.4),
                       head("stage", sure=0.1), head("grouping", sure=sure)], costs())
        fields = [h.field for h in queue]
        assert abs(fields.index("quantity") - fields.index("grouping")) == 1, fields


@given(heads, st.data())
def test_walking_the_queue_meets_each_question_once(made: list[Head], data: st.DataObject) -> None:
    """From any question on, `after` goes through the rest in order, also once that question is answered."""
    queue = Queue(made, costs())
    order = list(queue)
    if not order:
        assert queue.first() is None
        return
    at = data.draw(st.integers(0, len(order) - 1))
    answered = order[at]
    queue.replace(answered.walk, [h for h in order if h.walk == answered.walk and h != answered])
    assert not queue.has(answered)
    assert len(queue) == len(order) - 1
    assert queue.after(answered) == (order[at + 1] if at + 1 < len(order) else None)
    assert queue.before(answered) == (order[at - 1] if at else None)


@given(heads)
def test_a_record_is_asked_what_it_has(made: list[Head]) -> None:
    """`about` gives all questions of a record and no other."""
    queue = Queue(made, costs())
    for about in {h.about for h in made}:
        assert sorted(queue.about(about)) == sorted(h for h in made if h.about == about)


def test_the_likelier_of_two_units_on_file_goes_first() -> None:
    """Unanswered, a record counts as another thing: the likelier it is one that the shop has, the costlier that is."""
    links = [Head("link", n, "w", "w/u1", "U0009", "link", f"U000{n}", sure, False) for n, sure in ((1, 0.2), (2, 0.9))]
    assert [h.name for h in Queue(links, costs())] == ["U0002", "U0001"]
