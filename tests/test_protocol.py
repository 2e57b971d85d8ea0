"""The protocol: filled from defaults, faults named together, frozen once and for all."""

from datetime import date

import pytest

from audit.errors import ProtocolError
from audit.protocol import default_text, freeze, read_protocol


def write(tmp_path, text):
    path = tmp_path / "protocol.toml"
    path.write_text(text, "utf-8")
    return path


def test_a_file_needs_only_what_differs(tmp_path):
    protocol = read_protocol(write(tmp_path, "[take]\nthreshold_pct = 90\n"))
    assert (protocol.take.threshold_pct, protocol.take.day) == (90, 10)


def test_every_fault_is_named_at_once(tmp_path):
    path = write(tmp_path, "[take]\nthreshold_pct = 140\nfrom_day = 20\n[healing]\nweeks = 3\n")
    with pytest.raises(ProtocolError) as caught:
        read_protocol(path)
    assert "take.threshold_pct = 140" in str(caught.value)
    assert "healing.weeks = 3" in str(caught.value)


def test_no_file_names_the_way_out(tmp_path):
    with pytest.raises(ProtocolError, match="takehold template --protocol"):
        read_protocol(tmp_path / "none.toml")


def test_a_frozen_protocol_shows_when_it_was_changed(tmp_path):
    path, frozen = write(tmp_path, default_text()), tmp_path / "frozen.toml"
    done = freeze(path, frozen, date(2025, 1, 2))
    assert done.frozen is not None
    assert (done.frozen.on, done.frozen.sha256) == (date(2025, 1, 2), read_protocol(path).sha256)
    with pytest.raises(ProtocolError, match="never written over"):
        freeze(path, frozen, date(2025, 1, 3))
    with pytest.raises(ProtocolError, match="was frozen on 2025-01-02 already"):
        freeze(frozen, tmp_path / "again.toml", date(2025, 1, 3))
    frozen.write_text(frozen.read_text("utf-8").replace("threshold_pct = 75", "threshold_pct = 50"), "utf-8")
    with pytest.raises(ProtocolError, match="changed after it was frozen on 2025-01-02"):
        read_protocol(frozen)


def test_the_hash_does_not_depend_on_layout_or_comments(tmp_path):
    bare = "\n".join(line.split("#")[0].rstrip() for line in default_text().splitlines())
    assert read_protocol(write(tmp_path, bare)).sha256 == read_protocol().sha256
