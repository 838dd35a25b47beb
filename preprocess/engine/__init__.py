"""The engine: contract of a pass, facts, ledger, registry, and the proof of an order."""
