"""The command line. Thin: parse, call, say, exit code. Heavy imports wait until a command needs them."""

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from audit.errors import AuditError

if TYPE_CHECKING:
    from audit.store import Store

EXISTING = click.Path(exists=True, path_type=Path)
NEW = click.Path(path_type=Path)
DateOrder = Literal["iso", "day-first", "month-first"]
Spelling = Literal["british", "american"]
DATES = click.option(
    "--dates",
    type=click.Choice(["iso", "day-first", "month-first"]),
    default="iso",
    help="How dates typed as text are written: 2024-05-31 (iso), 31.5.2024 or 5/31/2024.",
)
STORE = click.option("--store", type=NEW, required=True, help="The store, a .duckdb file.")


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="takehold", message="%(prog)s %(version)s")
def takehold() -> None:
    """Outcome audit of skin grafts and flaps in dogs and cats.

    Describes past records. It is no clinical advice: treatment decisions belong to the responsible veterinary surgeon.
    The work goes: template, check, freeze, load, report, write-up. Begin with: takehold demo
    """


@takehold.command()
@click.argument("folder", type=NEW, default=Path("takehold-demo"))
def demo(folder: Path) -> None:
    """An invented practice: workbook, store and full report in FOLDER, in one go."""
    from reports.demo import run_demo

    _say(f"inventing a practice and auditing it in {folder}")
    page = run_demo(folder, on=date.today())
    click.echo(f"{page}\nEverything in {folder} is invented. Open the page in a browser.")


@takehold.command()
@click.argument("workbook", type=NEW, default=Path("grafts.xlsx"))
@click.option("--protocol", type=NEW, help="Also write the default protocol here, to edit and freeze.")
def template(workbook: Path, protocol: Path | None) -> None:
    """A blank workbook: one sheet a table, drop-down lists, notes, an example row."""
    from audit.intake.template import write_template
    from audit.protocol import default_text

    for path in filter(None, (workbook, protocol)):
        if path.exists():
            raise AuditError(f"{path} exists and may hold your records; choose another name")
    write_template(workbook)
    click.echo(workbook)
    if protocol:
        protocol.write_text(default_text(), "utf-8")
        click.echo(protocol)


@takehold.command()
@click.argument("workbook", type=EXISTING)
@click.option("--marked", type=NEW, help="Also write a copy with the faults marked in place.")
@DATES
@click.option("--json", "as_json", is_flag=True, help="The faults as JSON, for another program.")
def check(workbook: Path, marked: Path | None, dates: DateOrder, as_json: bool) -> int:
    """Every fault of WORKBOOK (an .xlsx, or a folder of CSV files) at once. Nothing is stored."""
    import secrets

    from audit.intake.check_workbook import check_workbook
    from audit.intake.marked import write_marked
    from reports.cli_messages import fault_lines

    intake = check_workbook(workbook, key=secrets.token_bytes(32), dates=dates)
    if as_json:
        click.echo(json.dumps([asdict(fault) for fault in intake.faults], default=str, ensure_ascii=False, indent=1))
    else:
        click.echo(fault_lines(intake.faults))
    if marked:
        write_marked(workbook, intake.faults, marked)
        _say(f"marked copy: {marked}")
    return 1 if intake.errors else 0


@takehold.command()
@click.argument("workbook", type=EXISTING)
@STORE
@click.option("--key", type=NEW, help="The practice's key file; made when missing. Never share it.")
@click.option(
    "--codes", type=NEW, help="Also write which patient number has which case code: private, not for sharing."
)
@DATES
def load(workbook: Path, store: Path, key: Path | None, codes: Path | None, dates: DateOrder) -> int:
    """Check, de-identify and store WORKBOOK: all or nothing; `undo` takes it back."""
    from audit.intake.case_code_list import write_case_codes
    from audit.intake.check_workbook import check_workbook
    from audit.intake.identity import read_or_make_key
    from reports.cli_messages import change_lines, fault_lines

    if key is None:
        key = Path(click.get_app_dir("takehold")) / "practice.key"
        key.parent.mkdir(parents=True, exist_ok=True)
    intake = check_workbook(workbook, key=read_or_make_key(key), dates=dates)
    _say(fault_lines(intake.faults))
    if intake.errors:
        _say("Nothing was loaded; correct the errors and load again.")
        return 1
    with _opened(store, create=True) as opened:
        changes = opened.load(intake.tables, fingerprint=intake.fingerprint, on=date.today())
    click.echo(change_lines(changes))
    if codes:
        write_case_codes(codes, intake)
        _say(f"case codes with patient numbers: {codes} (keep it private)")
    return 0


@takehold.command()
@STORE
def undo(store: Path) -> None:
    """Take the last load of the store back."""
    from reports.cli_messages import change_lines

    with _opened(store) as opened:
        click.echo(change_lines(opened.undo()))


@takehold.command()
@click.argument("protocol", type=EXISTING)
@click.option("--into", type=NEW, help="The frozen copy. Default: beside PROTOCOL, as NAME.frozen.toml.")
def freeze(protocol: Path, into: Path | None) -> None:
    """Validate PROTOCOL and freeze it with today's date and a hash, before the cases are loaded."""
    from audit.protocol import freeze as freeze_protocol

    into = into or protocol.with_suffix(".frozen.toml")
    frozen = freeze_protocol(protocol, into, date.today()).frozen
    assert frozen is not None
    click.echo(f"{into}\nfrozen on {frozen.on}, hash {frozen.sha256}")


@takehold.command()
@STORE
@click.option("--protocol", type=EXISTING, help="A protocol of your own; without it the shipped one, not frozen.")
@click.option("--into", type=NEW, default=Path("audit-report"), help="The folder for the page, figures and tables.")
def report(store: Path, protocol: Path | None, into: Path) -> None:
    """The audit report: one self-contained page, and every figure and table as files."""
    from audit.protocol import read_protocol
    from reports.audit_report import write_report

    settled = read_protocol(protocol)
    with _opened(store, read_only=True) as opened, opened.under(settled) as cases:
        click.echo(write_report(cases, into))


@takehold.command("write-up")
@STORE
@click.option("--protocol", type=EXISTING, help="The frozen protocol of the series; without it the shipped one.")
@click.option("--into", type=NEW, default=Path("write-up"), help="The folder for the manuscript and what goes with it.")
@click.option(
    "--spelling", type=click.Choice(["british", "american"]), default="british", help="Of every word written."
)
def write_up(store: Path, protocol: Path | None, into: Path, spelling: Spelling) -> None:
    """The case-series manuscript (Word, PDF), its figures and tables, and the reporting-guide table.

    Run it again after the data change: what you typed stays, the numbers in marked blocks are renewed, and every
    change is listed.
    """
    from audit.protocol import read_protocol
    from reports.cli_messages import manuscript_lines
    from reports.write_up.folder import write_up as write

    settled = read_protocol(protocol)
    _say(f"writing the manuscript, its figures and tables into {into}")
    with _opened(store, read_only=True) as opened, opened.under(settled) as cases:
        path, changes = write(cases, into, spelling=spelling)
    click.echo(path)
    _say(manuscript_lines(changes))


@takehold.command()
@click.option("--words", is_flag=True, help="The allowed words of every field instead of the fields.")
@click.option("--csv", "into", type=NEW, help="Write it as a CSV file.")
def dictionary(words: bool, into: Path | None) -> None:
    """The data dictionary: every field, its unit, range and why it is asked; or every allowed word."""
    from audit.intake.codebook import as_csv, as_markdown, code_rows, field_rows

    rows = code_rows() if words else field_rows()
    if into:
        into.write_text(as_csv(rows), "utf-8", newline="")
        click.echo(into)
    else:
        click.echo(as_markdown(rows))


def _opened(path: Path, *, create: bool = False, read_only: bool = False) -> "Store":
    from audit.store import open_store

    store = open_store(path, create=create, read_only=read_only)
    if store.kept_as_it_was:
        _say(f"{path} was made by an earlier version and is brought up to date; as it was: {store.kept_as_it_was}")
    return store


def _say(message: str) -> None:
    click.echo(message, err=True)


def main(argv: Sequence[str] | None = None) -> int:
    """Exit code 0: done. 1: the data or the request must be corrected. 2: the command was mistyped."""
    # Our matrices are small: threads of the linear algebra cost more than they bring.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        return takehold.main(argv, prog_name="takehold", standalone_mode=False) or 0
    except AuditError as error:
        click.echo(f"error: {error}", err=True)
        return 1
    except click.ClickException as error:
        error.show()
        return 2
    except click.Abort:
        return 1


if __name__ == "__main__":
    sys.exit(main())
