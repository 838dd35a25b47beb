"""The model: frozen values, with no behaviour beyond what they say of themselves."""
