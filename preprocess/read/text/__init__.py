"""Text of a drawing as outlines: letters, fonts, shaping, layout. Needs the `text` extra."""
