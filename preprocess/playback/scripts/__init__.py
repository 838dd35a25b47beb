"""Scripts of the page: how it opens the block, and the heat of a job at any moment."""
