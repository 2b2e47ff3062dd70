"""yardplan: a week's plan for a yard of sun-heated rotational-molding units."""

__version__ = "0.1.0"
