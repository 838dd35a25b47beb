"""Which plastics stop a job, which are warned of, and which only look alike in writing.

The lists are of the trade: abbreviations by ISO 1043-1 (plastics), ISO 1629 (rubbers) and UL 94
(flammability), and the ways in which people write them on a spool.
"""

from __future__ import annotations

import pytest

from preprocess.marking.checks.artwork_checks import check_artwork
from preprocess.marking.checks.plastic_checks import (
    is_chlorinated,
    is_flame_retardant,
    is_fluorinated,
    plastic_findings,
)
from preprocess.model.bench.bench import Bench
from preprocess.model.bench.filament import Filament, Tried
from preprocess.model.bench.part import Part
from tests.marking import drawn


def names(text):
    return text.replace("\n", "|").split("|")


CHLORINATED = names(
    """PVC|pvc|Pvc|grey PVC|PVC grey|PVC-U|uPVC|U-PVC|CPVC|C-PVC|PVC-C|PVDC|pvdc film|P.V.C.|p v c
PVC2mm|2mm PVC|PVC_grey|PVC/ABS|greyPVC|PVCgrey|(PVC)|vinyl|Vinyl|VINYL sheet
black vinyl, matt|polyvinyl chloride|Polyvinyl Chloride|poly(vinyl chloride)
poly vinyl chloride|polyvinylchloride|polyvinylchlorid|polyvinylidene chloride
vinylidene chloride|polyvinyl|chlorinated polyethylene|chlorinated PVC
unplasticised polyvinyl-chloride|chloroprene rubber|polychloroprene|PCTFE|ECTFE
chlorure de polyvinyle|policloruro de vinilo|ПВХ|ＰＶＣ|P\u200bVC|PVC\u2010U
vinyl acetate vinyl chloride|rigid PVC free sample|not PVC|polyethylene, chlorinated"""
)

WITHOUT_CHLORINE = names(
    """PLA|PETG|ABS|ASA|PVA|PVB|PVAc|PVOH|PVF|PVDF|PVP|EVA|CPE|PC|PP|PE|PA12|polyvinyl alcohol
poly(vinyl alcohol)|polyvinyl butyral|polyvinyl acetate|ethylene vinyl acetate
ethylene-vinyl-acetate|vinyl ester|polyvinylidene fluoride|poly(vinylidene fluoride)
PVC-free PLA|chlorine-free|chlorinefree|non-chlorinated PE|unchlorinated PE
chlorophyll green PLA|chlorella green PETG|lamp V Carbon PLA|PV cell blue|top vcut PETG
moss-green PETG, spool 7|clover green|willow bark|silver PLA"""
)

FLUORINATED = names(
    """PTFE|ptfe|PVDF|FEP|ETFE|PFA|PVF|FKM|FFKM|PTFE-filled POM|POM+PTFE|PVDF natural
polyvinylidene fluoride|polytetrafluoroethylene|fluorinated ethylene propylene|fluoropolymer
perfluoroalkoxy|fluoroelastomer|polyvinyl fluoride"""
)

WITHOUT_FLUORINE = names(
    """PLA|fluorescent orange PLA|fluo yellow|fluoro pink PETG|PFAS|TPE|PETG|flour white
peppermint|fluorine-free"""
)

RETARDANT = names(
    """ABS FR|PC-FR|fr-ABS|PC/ABS-FR|FR4|PA12 V-0|V-0|PC V0|UL94 V-2|UL 94 HB|5VA
flame retardant ABS|flame-retardant|Flame Retardant|flameretardant PLA|fire-retardant
fire resistant|flame proof|brominated|bromine-filled|self-extinguishing PC
halogen-free FR PETG"""
)

WITHOUT_RETARDANT = names(
    """PLA
frond green|FRP|fresh green|Africa brown|flame red PLA|fire orange|bromeliad pink|PLA v0.2
PLA V2|rev05|mauve 0|5VX|UL9|bromine-free"""
)


def codes(bench):
    return [f.code for f in plastic_findings(bench)]


@pytest.mark.parametrize("name", CHLORINATED)
def test_chlorine_is_found_however_it_is_written(name):
    assert is_chlorinated(name)
    assert codes(Bench(filament=Filament(name="spool 3", polymer=name))) == ["chlorinated-plastic"]
    assert codes(Bench(filament=Filament(name=name, polymer="PLA"))) == ["chlorinated-plastic"]


@pytest.mark.parametrize("name", WITHOUT_CHLORINE)
def test_what_only_looks_like_it_is_not_stopped(name):
    assert not is_chlorinated(name)
    assert "chlorinated-plastic" not in codes(Bench(filament=Filament(name=name)))


@pytest.mark.parametrize(
    ("asks", "named", "others"),
    [
        (is_fluorinated, FLUORINATED, WITHOUT_FLUORINE),
        (is_flame_retardant, RETARDANT, WITHOUT_RETARDANT),
    ],
)
def test_warned_plastics_and_their_near_misses(asks, named, others):
    assert [name for name in named if not asks(name)] == []
    assert [name for name in others if asks(name)] == []


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("PTFE tape white", "fluorinated-plastic"),
        ("ABS V-0", "flame-retardant-plastic"),
    ],
)
def test_a_warned_plastic_gives_a_warning(name, code):
    filament = Filament(name=name, polymer="ABS")
    (found,) = plastic_findings(Bench(filament=filament))
    assert (found.code, found.severity) == (code, "warn")
    assert repr(name) in found.message


@pytest.mark.parametrize(
    "bench",
    [
        Bench(filament=Filament(name="grey", polymer="PVC")),
        Bench(filament=Filament(name="grey vinyl", polymer="PLA")),
        Bench(filament=Filament(name="grey", tried=Tried(filament="PVC, spool 2"))),
        Bench(parts=(Part(outline=(60.0, 40.0), filament="uPVC"),)),
        Bench(
            filament=Filament(name="moss", polymer="PLA"),
            parts=(Part(outline=(6.0, 4.0)), Part(outline=(6.0, 4.0), filament="CPVC")),
        ),
    ],
)
def test_every_name_of_what_is_marked_is_looked_at(bench):
    art = drawn.artwork(drawn.shape(drawn.square(10, 10, 8)))
    (found,) = [f for f in check_artwork(art, bench) if f.severity == "stop"]
    assert found.code == "chlorinated-plastic"
    assert "hydrogen chloride" in found.message
    assert "never mark it" in found.remedy


@pytest.mark.parametrize("polymer", ["PLA", "pla", "PetG", "PA 12", "pa-6", "Abs"])
def test_a_known_polymer_is_known_in_any_spelling(polymer):
    assert codes(Bench(filament=Filament(name="moss", polymer=polymer))) == []


def test_an_unknown_polymer_is_told_with_what_stands_in_for_it():
    filament = Filament(name="reed", polymer="PEEK", density=1.3)
    (found,) = plastic_findings(Bench(filament=filament))
    assert (found.code, found.severity) == ("unknown-polymer", "warn")
    assert "'PEEK'" in found.message
    assert "computed as of PLA (conductivity, heat capacity)" in found.message
    known = Filament(name="r", polymer="PEEK", density=1.3, conductivity=0.25, heat_capacity=1.3)
    assert codes(Bench(filament=known)) == []


def test_a_polymer_that_is_not_named_is_told():
    (found,) = plastic_findings(Bench(filament=Filament(name="moss, spool 7")))
    assert (found.code, found.severity) == ("polymer-not-named", "note")
    assert "computed as of PLA" in found.message
    assert plastic_findings(Bench()) == ()
