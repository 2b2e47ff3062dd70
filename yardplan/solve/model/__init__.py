"""CP-SAT models of a plan with a part of it free; one function a rule, named as the yard says it."""
