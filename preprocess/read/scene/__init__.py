"""Values of the walk: the document, rendering contexts, visits, painted outlines."""
