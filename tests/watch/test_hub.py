"""The hub keeps what a page may ask for still, and wakes who listens."""

from __future__ import annotations

from preprocess.watch.hub import Hub
from preprocess.watch.messages import Began, Drawn, Finished, View


def test_the_last_two_pictures_of_each_kind_are_kept():
    hub = Hub()
    for text in (b"one", b"two", b"three"):
        hub.put(Drawn(View.CHANGES, text))
    hub.put(Drawn(View.HEAT, b"four"))
    asked = ("changes/1", "changes/2", "changes/3", "heat/4", "heat/3", "changes/")
    assert [hub.picture(one) for one in asked] == [None, b"two", b"three", b"four", None, None]


def test_a_slow_listener_misses_states_between_but_never_the_last():
    hub = Hub()
    version, _ = hub.wait(-1)
    hub.put(Began())
    hub.put(Finished())
    newest, state = hub.wait(version)
    assert newest == version + 2
    assert (state.run, state.busy) == (1, False)


def test_nobody_waits_for_a_hub_that_is_closed():
    hub = Hub()
    hub.close()
    assert hub.is_closed
    assert hub.wait(0)[1].run == 0
