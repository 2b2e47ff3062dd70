"""Material data against handbook bands."""

from dataclasses import replace

import pytest

from yardplan.cycle.materials import metal_j_kg_k, resin_of, resins
from yardplan.cycle.model import cycle_model
from yardplan.domain.equipment import MoldMetal
from yardplan.domain.errors import InvalidField

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK, bare_model

POLYETHYLENES = ("LLDPE", "HDPE", "XLPE")


def test_families_and_their_sources():
    assert set(resins()) == {"LLDPE", "HDPE", "XLPE", "PP", "PA12"}
    for resin in resins().values():
        assert resin.source
        assert resin.melt_j_kg_k >= resin.solid_j_kg_k
        assert resin.freezing_c[0] < resin.freezing_c[1] < resin.melting_c[0] < resin.melting_c[1]


@pytest.mark.parametrize(("name", "low_c", "high_c"), [("LLDPE", 120, 130), ("HDPE", 127, 135)])
def test_melting_range_of_polyethylene(name, low_c, high_c):
    # LLDPE and MDPE 120-130 C, HDPE 128-135 C (from memory; Crawford and Throne 2002)
    melting_c = resins()[name].melting_c
    assert low_c <= melting_c[0] < melting_c[1] <= high_c


@pytest.mark.parametrize("name", POLYETHYLENES)
def test_crystallization_starts_between_110_and_120_c(name):
    # from memory; Crawford and Throne 2002, chapter 5
    assert 110 <= resins()[name].freezing_c[1] <= 120


def test_heat_of_fusion_of_lldpe():
    # 45 to 60 % of a perfect crystal's 293 J/g (ATHAS data bank, Wunderlich; from memory): 130 to 180 J/g
    assert 130e3 <= resins()["LLDPE"].fusion_j_kg <= 180e3


@pytest.mark.parametrize(("density", "share"), [(935, 0.597), (940, 0.630), (950, 0.695)])
def test_crystallinity_by_density(density, share):
    # two-phase rule, amorphous 853 and crystal 1000 kg/m3 (from memory; recomputed)
    assert _crystalline_frac(density) == pytest.approx(share, abs=1e-3)


@pytest.mark.parametrize("name", POLYETHYLENES)
def test_fusion_agrees_with_density(name):
    # heat of fusion gives less than density does, as part of the denser material does not melt sharply (from memory)
    resin = resins()[name]
    by_density = _crystalline_frac(resin.density_kg_m3)
    assert 0.75 * by_density < resin.crystalline_frac <= by_density


def _crystalline_frac(density: float) -> float:
    return (density - 853) / (1000 - 853) * 1000 / density


def test_enthalpy_of_polyethylene_from_20_to_200_c():
    # cp_s (Tm - 20) + x Hf + cp_m (200 - Tm): 579.0 kJ/kg; band of handbook charts 520 to 760 (from memory; Osswald)
    lldpe = resins()["LLDPE"]
    model = bare_model(
        shell_j_k=1e-9, polymer_kg=1.0, solid_j_kg_k=lldpe.solid_j_kg_k, melt_j_kg_k=lldpe.melt_j_kg_k,
        fusion_j_kg=lldpe.fusion_j_kg, melting_c=lldpe.melting_c,
    )  # fmt: skip
    assert model.missing_j(293.15, 293.15) == pytest.approx(579.0e3, abs=100)
    for name in POLYETHYLENES:
        resin = resins()[name]
        grade = replace(
            model, fusion_j_kg=resin.fusion_j_kg, melting_c=resin.melting_c,
            solid_j_kg_k=resin.solid_j_kg_k, melt_j_kg_k=resin.melt_j_kg_k,
        )  # fmt: skip
        assert 520e3 <= grade.missing_j(293.15, 293.15) <= 760e3


def test_bands_of_metals_and_walls():
    # steel cp 450 to 500, aluminum about 900 J/kgK; polymer melt 0.25 to 0.35 W/mK (from memory)
    assert 450 <= metal_j_kg_k(MoldMetal.STEEL) <= 500
    assert metal_j_kg_k(MoldMetal.ALUMINUM) == pytest.approx(900, rel=0.02)
    for name in POLYETHYLENES:
        assert 0.25 <= resins()[name].conductivity_w_m_k <= 0.35
        assert 1.2e-7 <= resins()[name].diffusivity_m2_s <= 1.8e-7


def test_unknown_grade_names_the_known_ones():
    with pytest.raises(InvalidField, match=r"product T35: resin_grade is 'PE-9'; expected one of LLDPE, .*PA12"):
        resin_of(replace(BIG_TANK, resin_grade="PE-9"))


def test_piat_and_demold_temperature_must_suit_the_resin():
    nylon = replace(BIG_TANK, resin_grade="PA12", piat_c=175.0)
    with pytest.raises(InvalidField, match=r"piat_c is 175\.0; expected above 180, where PA12 has melted"):
        cycle_model(BIG_MOLD, nylon, ALTITUDE_M)
    with pytest.raises(InvalidField, match=r"demold_c is 112\.0; expected below 106, where LLDPE has set"):
        cycle_model(BIG_MOLD, replace(BIG_TANK, demold_c=112.0), ALTITUDE_M)
