"""drop-specks keeps its promises, and takes what is too small and nothing else."""

from nursery_passes.drop_specks import DropSpecks

from preprocess.api import check_pass, read_artwork

SEED_HEAD = """
<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="10mm" viewBox="0 0 30 10">
  <rect id="seed" width="5" height="5"/>
  <rect id="speck" x="10" width="0.2" height="0.2"/>
  <rect id="husk" x="20" width="0.3" height="0.3"/>
</svg>
"""


def test_specks_are_left_out() -> None:
    artwork, bench = read_artwork(SEED_HEAD)
    outcome = check_pass(DropSpecks(smaller_than=0.25), artwork, bench)
    assert [shape.id for shape in outcome.artwork.shapes] == ["seed", "husk"]
    assert outcome.findings[0].elements == ("speck",)
