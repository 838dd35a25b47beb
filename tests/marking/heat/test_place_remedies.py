"""The remedy for a layer: of what was simulated, what leaves least outside, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field

from preprocess.marking.heat.layer_power import LayerPower
from preprocess.marking.heat.place_remedies import NONE_HELPS, UNTRIED, TriedRemedy, layer_remedy
from preprocess.model.bench.filament import Window

WINDOW = Window(weak=0.8, heavy=1.15, molten=1.5)


@dataclass
class Trials:
    """Trials with known answers, and what was asked of them."""

    in_rounds: TriedRemedy | None = None
    at_speed: TriedRemedy | None = None
    asked: list[str] = field(default_factory=list)

    def rows(self, output):
        self.asked.append("rows")
        return self.in_rounds

    def speed(self, output, power):
        self.asked.append("speed")
        return self.at_speed


def power(best=0.6, now=0.3, then=0.3, hottest=1.2, **more):
    over = hottest > WINDOW.heavy
    return LayerPower(
        own=0.6, best=best, now=now, then=then, hottest=hottest, overheats=over, **more
    )


def test_what_leaves_no_less_outside_is_not_told():
    for outside in (0.3, 0.29, 0.4):
        trials = Trials(in_rounds=TriedRemedy("mark it in rounds", outside))
        assert layer_remedy("leaf", power(), WINDOW, trials) == (NONE_HELPS, NONE_HELPS)


def test_what_could_not_be_simulated_is_not_told():
    assert layer_remedy("leaf", power(), WINDOW, Trials()).full == UNTRIED
    assert layer_remedy("leaf", power(), WINDOW, None).full == UNTRIED


def test_a_power_that_brings_all_inside_is_enough():
    trials = Trials(in_rounds=TriedRemedy("mark it in rounds", 0.0))
    told = layer_remedy("leaf", power(best=0.5, then=0.01, hottest=1.1), WINDOW, trials)
    assert told.brief == "set 50 % for the whole layer and test it"
    assert told.full == f"{told.brief}: 1 % of it is predicted outside then"
    assert trials.asked == []


def test_the_least_outside_is_told_and_the_plainer_beside_it():
    trials = Trials(in_rounds=TriedRemedy("mark it in rounds", 0.02, "worst place +2 %"))
    told = layer_remedy("leaf", power(best=0.7, then=0.12), WINDOW, trials)
    assert told.brief == "mark it in rounds: worst place +2 %"
    assert told.full == (
        "mark it in rounds: worst place +2 %; or only set 70 % for the whole layer and test it: "
        "12 % of it is predicted outside then, and its hottest place at 1.20 (too heavy from 1.15)"
    )


def test_of_what_is_alike_the_plainer_is_told():
    trials = Trials(in_rounds=TriedRemedy("mark it in rounds", 0.118, "worst place +9 %"))
    told = layer_remedy("leaf", power(best=0.5, then=0.12, hottest=1.1), WINDOW, trials)
    assert told.full.startswith("set 50 %")
    assert "rounds" not in told.full


def test_another_speed_is_asked_for_only_where_the_range_of_power_ends():
    slow = TriedRemedy("set 60 % and 300 mm/s", 0.03)
    trials = Trials(at_speed=slow)
    told = layer_remedy("leaf", power(highest=True, light=1.6), WINDOW, trials)
    assert trials.asked == ["speed", "rows"]
    assert told.full == "set 60 % and 300 mm/s: 3 % of it is predicted outside then"
    layer_remedy("leaf", power(), WINDOW, trials)
    assert trials.asked[2:] == ["rows"]


def test_a_power_that_would_melt_is_no_remedy():
    told = layer_remedy("leaf", power(best=0.8, then=0.1, hottest=1.6), WINDOW, Trials())
    assert "set 80 %" not in told.full
    assert told.full.endswith("at 80 % its hottest place would reach 1.60 (molten from 1.5)")
