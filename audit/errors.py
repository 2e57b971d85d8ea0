"""The errors of this project: each message names the fault, the value and the way out."""


class AuditError(Exception):
    """Something in the data or the request needs mending; the command line prints it as one sentence."""


class WorkbookError(AuditError):
    """The file cannot be read as a workbook or a folder of CSV files."""


class StoreError(AuditError):
    """The store is missing, in use elsewhere, or not made by this project."""


class ProtocolError(AuditError):
    """The protocol does not say what it must, or was changed after it was frozen."""


class EmptyGroup(AuditError):
    """Nothing to count."""


class TooFewData(AuditError):
    """An estimate was refused: the reason is the message."""
