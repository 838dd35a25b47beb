"""Reading pictures: files of phones and cameras, upright, in sRGB, within limits."""
