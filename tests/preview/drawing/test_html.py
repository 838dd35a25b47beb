"""Pages from templates: what a policy names of them."""

from preprocess.preview.drawing.html import source_hash


def test_a_policy_names_a_script_by_its_hash():
    # echo -n 'listen();' | openssl dgst -sha256 -binary | base64
    assert source_hash("listen();") == "'sha256-9IAAcmmOHNTRiI6HItX8mLwQRwbvl7fI/YsPwOGiClM='"
