"""Each question gets the kind of answer that belongs to it, or none."""

from collections.abc import Callable

import pytest

from closeout.kernel.record import Answer
from closeout.kernel.replies import Replies, RepliesBy


@pytest.mark.parametrize(
    ("answer", "wrong"),
    [
        (b"", (Replies.names, Replies.target)),
        ((), (Replies.read, Replies.ask, Replies.target)),
        ("", (Replies.read, Replies.ask, Replies.names)),
    ],
)
def test_an_answer_of_another_kind_is_our_own_fault(
    answer: Answer, wrong: tuple[Callable[[Replies, str], object], ...]
) -> None:
    for question in wrong:
        with pytest.raises(TypeError):
            question(RepliesBy(lambda _: answer), "sys")
