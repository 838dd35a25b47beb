"""Photos made by calculation, with the truth beside them: no phone and no laser took part.

`python -m tests.photos 200 7` measures 200 of them and prints the figures of docs/project/trust.md.
Nothing here imports the heat or the image code of `preprocess`; of its drawings only the files.
"""
