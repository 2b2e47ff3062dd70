"""The window. Everything Qt lives here."""
