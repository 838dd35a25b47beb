"""Parts: their reliefs from models, and how these lie on the page."""
