"""The frame: the page to print that lies around a part in its photo."""
