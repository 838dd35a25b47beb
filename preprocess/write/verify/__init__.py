"""The read-back: a parser and comparison that share nothing with the writer."""
