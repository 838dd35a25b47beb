"""Text files that cannot be read, and the byte order mark."""

from __future__ import annotations

import pytest

from preprocess.errors import UserError
from preprocess.loading.yaml.text_files import MOST_BYTES, read_text
from preprocess.loading.yaml.yaml_document import load_yaml


def test_files_that_cannot_be_read(tmp_path):
    (tmp_path / "bench.yaml").write_text("name: bench\n")
    (tmp_path / "latin.yaml").write_bytes("a: 1\nb: für\n".encode("latin-1"))
    (tmp_path / "large.yaml").write_bytes(b"#" * (MOST_BYTES + 1))
    for name, sentence in {
        "bench.yml": f"there is no such file; did you mean {tmp_path / 'bench.yaml'}?",
        "latin.yaml": "the file is not UTF-8 text; save it as UTF-8 in the text editor",
        "large.yaml": "is over 1 MB; name the file that was meant",
        "no/such/x.yaml": "there is no such file; check the path",
        ".": "that is a folder; name a file in it",
        "nul\0.yaml": "(embedded null byte); check the path and its permissions",
    }.items():
        with pytest.raises(UserError) as caught:
            load_yaml(tmp_path / name)
        assert str(caught.value).endswith(sentence)


def test_a_byte_order_mark_is_no_content(tmp_path):
    path = tmp_path / "r.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    assert read_text(path).startswith("a")
    assert load_yaml(path).data == {"a": 1, "b": 2}
