"""The heat index: where heat piles up, against a reference patch."""
