"""The private list pairs numbers with case codes, is only its owner's, and starts no formula."""

import csv
import stat

from one_animal import case, check, day, together

from audit.intake.case_code_list import write_case_codes
from audit.intake.identity import pseudonym


def test_list_pairs_numbers_with_codes(tmp_path):
    intake = check(together(case("00123"), case("=1+1")), tmp_path)
    path = tmp_path / "codes.csv"
    path.write_text("an earlier list", encoding="utf-8")
    write_case_codes(path, intake)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    with path.open(encoding="utf-8-sig", newline="") as file:
        _, *rows = csv.reader(file)
    code = {number: f"{pseudonym(bytes(range(32)), 'animal', number)}-A1" for number in ("00123", "=1+1")}
    assert rows == [["'=1+1", code["=1+1"], day(0).isoformat()], ["00123", code["00123"], day(0).isoformat()]]
    assert len(list(tmp_path.iterdir())) == 2
