"""Finding the frame in a picture: markers, and the map from the page to pixels."""
