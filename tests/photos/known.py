"""A photo as it is told of a measured thing, where the photo itself does not matter."""

from preprocess.photo.measured import Photo


def known_photo(name: str, digest: str) -> Photo:
    """A sharp photo in which the frame and the drawing were found."""
    return Photo(
        name=name,
        digest=digest,
        px_per_mm=12.0,
        edge=0.3,
        fit=0.01,
        markers=14,
        match=0.9,
        points=20,
    )
