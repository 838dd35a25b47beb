"""One file per pass: frozen typed parameters, a contract in facts, a pure call on the artwork."""
