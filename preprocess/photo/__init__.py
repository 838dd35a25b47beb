"""Photos of marks: from a picture in the printed frame to tones of cells and maps of parts."""
