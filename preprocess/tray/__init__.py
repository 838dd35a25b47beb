"""Trays to print: pockets that hold parts, and a card under the bars, at the height of focus."""
