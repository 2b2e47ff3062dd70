"""Shell metals and resin families, from the shipped ``materials.toml``."""

import tomllib
from dataclasses import dataclass
from functools import cache
from typing import Any

from yardplan.domain.equipment import MoldMetal
from yardplan.domain.errors import InvalidField
from yardplan.domain.products import Product
from yardplan.paths import resource


@dataclass(frozen=True)
class Resin:
    """A family of resin; what the fields mean stands in ``materials.toml``."""

    name: str
    solid_j_kg_k: float
    melt_j_kg_k: float
    melting_c: tuple[float, float]
    freezing_c: tuple[float, float]
    crystalline_frac: float
    crystal_kj_kg: float
    conductivity_w_m_k: float
    density_kg_m3: float
    source: str

    @property
    def fusion_j_kg(self) -> float:
        """Effective heat of fusion [J/kg]."""
        return self.crystalline_frac * self.crystal_kj_kg * 1000.0

    @property
    def diffusivity_m2_s(self) -> float:
        """Thermal diffusivity of the wall below melting [m2/s]."""
        return self.conductivity_w_m_k / (self.density_kg_m3 * self.solid_j_kg_k)


@cache
def resins() -> dict[str, Resin]:
    """Return the resin families by name."""
    return {
        name: Resin(name, **{**row, "melting_c": tuple(row["melting_c"]), "freezing_c": tuple(row["freezing_c"])})
        for name, row in _shipped()["resins"].items()
    }


def resin_of(product: Product) -> Resin:
    """Return the family of a product's resin grade; raises `InvalidField` on an unknown one."""
    try:
        return resins()[product.resin_grade]
    except KeyError:
        known = ", ".join(resins())
        raise InvalidField("product", product.id, "resin_grade", product.resin_grade, f"one of {known}") from None


def metal_j_kg_k(metal: MoldMetal) -> float:
    """Return the specific heat of a shell metal [J/kg K]."""
    return float(_shipped()["metals"][metal.value]["specific_heat_j_kg_k"])


@cache
def _shipped() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(resource("materials.toml").read_text(encoding="utf-8"))
