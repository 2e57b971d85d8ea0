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


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("low = inf", "low = inf: give a share from 0 to 1, or a number of days or changes from 0 to 3650"),
        ("high = inf", "high = inf: give a share"),
        ("high = nan", "high = nan: give a share"),
        ("high = 1e308", "high = 1e+308: give a share"),
        ("margin = -0.1", "margin = -0.1: give a share"),
        ("low = 0.7", "low = 0.7 is above high = 0.6; give the lower end first"),
        ("high = 60", "healed_by is a share: low, high and margin lie from 0 to 1; write 80 % as 0.8"),
        ("margin = 5", "healed_by is a share"),
    ],
)
def test_a_rule_of_thumb_is_a_range_that_can_be(tmp_path, lines, words):
    text = f'name = "x"\nquantity = "healed_by"\nday = 21\n{lines}\nsays = ""\n'
    missing = [line for line in ("low = 0.5", "high = 0.6", "margin = 0") if line.split()[0] != lines.split()[0]]
    path = write(tmp_path, "\n".join(("[[rule_of_thumb]]", text, *missing)))
    with pytest.raises(ProtocolError) as caught:
        read_protocol(path)
    assert words in str(caught.value)
    assert "{" not in str(caught.value)


@pytest.mark.parametrize("quantity", ["bandage_gap_early", "bandage_changes", "first_change"])
def test_days_and_changes_may_be_more_than_one(tmp_path, quantity):
    values = 'day = 7\nlow = 2.0\nhigh = 15\nmargin = 2\nsays = ""\n'
    text = f'[[rule_of_thumb]]\nname = "x"\nquantity = "{quantity}"\n{values}'
    (rule,) = read_protocol(write(tmp_path, text)).rule_of_thumb
    assert (rule.low, rule.high, rule.margin) == (2, 15, 2)


def test_terms_that_were_dropped_are_refused_with_the_reason_beside_other_faults(tmp_path):
    text = '[protocol]\ncontaminated_bed = "clean"\n[hair]\nconsensus = "median_down"\ngood_grade = 9\n'
    with pytest.raises(ProtocolError) as caught:
        read_protocol(write(tmp_path, text))
    for words in ("protocol.contaminated_bed is no longer a term of the protocol, as nothing read it; its line must go",
                  "hair.consensus is no longer a term", "hair.good_grade = 9"):  # fmt: skip
        assert words in str(caught.value)
    frozen = f'[hair]\nconsensus = "median_down"\n[frozen]\non = 2025-01-02\nsha256 = "{"0" * 64}"\n'
    with pytest.raises(ProtocolError, match="raise the version and freeze it again"):
        read_protocol(write(tmp_path, frozen))


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
