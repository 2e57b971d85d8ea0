"""Two folders held against each other: one change planted in each kind of file is found where it stands."""

import docx
import openpyxl
import pytest

from tests.benchmarks.compare_outputs import Difference, differences, main


def write(folder, share="62 %", took="13"):
    folder.mkdir()
    (folder / "take.csv").write_text(f"Species,Took\nDogs,{took}\nCats,4\n", "utf-8-sig")
    (folder / "page.html").write_text(f"<p>Of <b>18</b> grafts, {share} took.</p><p>All are invented.</p>", "utf-8")
    svg = f'<svg xmlns="http://www.w3.org/2000/svg"><text>{share}</text><path d="M 0 {took}"/></svg>'
    (folder / "curve.svg").write_text(svg, "utf-8")
    (folder / "legends.txt").write_text(f"Figure 1.\nn = {took}.\n", "utf-8")
    book = openpyxl.Workbook()
    book.active.title = "Take"
    book.active.append(["Species", "Took"])
    book.active.append(["Dogs", int(took)])
    book.save(folder / "take.xlsx")
    paper = docx.Document()
    paper.add_paragraph(f"In dogs, {share} took.")
    paper.add_table(1, 1).cell(0, 0).text = took
    paper.save(folder / "paper.docx")
    return folder


def test_every_planted_change_is_named_by_file_row_and_column(tmp_path):
    before, after = write(tmp_path / "before"), write(tmp_path / "after", share="63 %", took="14")
    (after / "new.csv").write_text("a\n1\n")
    found = list(differences(before, after))
    assert [d for d in found if d.file == "take.csv"] == [Difference("take.csv", "row 2 (Dogs)", "Took", "13", "14")]
    assert [d for d in found if d.file == "take.xlsx"] == [
        Difference("take.xlsx", "Take, row 2 (Dogs)", "Took", "13", "14")
    ]
    assert [
        (d.file, d.old, d.new) for d in found if d.file in ("page.html", "paper.docx", "legends.txt", "new.csv")
    ] == [
        ("legends.txt", "n = 13.", "n = 14."),
        ("new.csv", "(absent)", "here"),
        ("page.html", "Of 18 grafts, 62 % took.", "Of 18 grafts, 63 % took."),
        ("paper.docx", "In dogs, 62 % took.", "In dogs, 63 % took."),
        ("paper.docx", "13", "14"),
    ]
    words, drawing = [d for d in found if d.file == "curve.svg"]
    assert (words.old, words.new) == ("62 %", "63 %")
    assert drawing.old.startswith("drawn with 3 elements")


def test_rows_put_in_are_one_difference_each_and_columns_go_by_their_heading(tmp_path):
    for name, text in (("a", "k,x,y\n1,1,2\n3,3,4\n"), ("b", "k,y,x,z\n1,2,1,9\n2,2,2,9\n3,4,3,9\n")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "t.csv").write_text(text)
    assert {(d.column, d.old, d.new) for d in differences(tmp_path / "a", tmp_path / "b")} >= {("z", "(absent)", "9")}
    (tmp_path / "b" / "t.csv").write_text("k,x,y\n1,1,2\n2,2,2\n3,3,4\n")
    assert [(d.row, d.old, d.new) for d in differences(tmp_path / "a", tmp_path / "b")] == [
        ("row 3", "(absent)", "2 | 2 | 2")
    ]


def test_the_exit_code_follows_what_is_allowed(tmp_path, capsys):
    before, after = write(tmp_path / "before"), write(tmp_path / "after", took="14")
    assert main([str(before), str(before)]) == 0
    assert main([str(before), str(after)]) == 1
    meant = tmp_path / "meant.toml"
    meant.write_text('[[allowed]]\nfile = "*.csv"\nold = "13"\nnew = "14"\nreason = "one more case"\n')
    assert main([str(before), str(after), "--allow", str(meant), "--only", "*.csv"]) == 0
    assert "0 differences, and 1 allowed" in capsys.readouterr().out
    with pytest.raises(SystemExit):
        main([str(before), str(after), "--only", "*.none"])
