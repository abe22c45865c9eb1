"""Cautions: every topic has some, each is a plain sentence with a source and defers to somebody."""

from __future__ import annotations

import pytest

from scheduler.trade.cautions import DEFER, TOPICS, all_cautions, cautions, topics_for_task
from scheduler.trade.minors import KINDS


@pytest.mark.parametrize("topic", TOPICS)
def test_each_topic_has_sentences_with_source_and_defers(topic: str) -> None:
    found = cautions(topic)  # type: ignore[arg-type]
    assert found
    for caution in found:
        assert caution.sentence.endswith(".")
        assert caution.source
        assert caution.text().endswith(DEFER[caution.topic])


def test_every_caution_is_reached_by_a_topic_and_said_once() -> None:
    sentences = [caution.sentence for caution in all_cautions()]
    assert len(sentences) == len(set(sentences)) == sum(len(cautions(topic)) for topic in TOPICS)


def test_every_kind_of_task_has_its_topics() -> None:
    assert all(topics_for_task(kind) for kind in KINDS)
    assert "blades" in topics_for_task("slice")
    assert {"fire", "carbon monoxide"} <= set(topics_for_task("tend"))


def test_unknown_topics_and_tasks_are_refused() -> None:
    with pytest.raises(KeyError):
        cautions("weather")  # type: ignore[arg-type]
    with pytest.raises(KeyError):
        topics_for_task("juggle")
