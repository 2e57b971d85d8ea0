"""The errors of this project: each message names the fault, the value and the way out."""


class AuditError(ValueError):
    """
    Something in the data or the request needs mending; the command line prints it as one sentence.

    `reason` says what is wrong and `advice` what to do about it; the message is both, joined. Where an error was raised
    with one text only, that is the reason.

    >>> error = AuditError("no case has a size", "record it, or leave the factor out")
    >>> error.reason, str(error)
    ('no case has a size', 'no case has a size; record it, or leave the factor out')
    """

    def __init__(self, reason: str, advice: str = "", *, joint: str = "; ") -> None:
        super().__init__(f"{reason}{joint}{advice}" if advice else reason)
        self.reason, self.advice = reason, advice


class WorkbookError(AuditError):
    """The file cannot be read as a workbook or a folder of CSV files."""


class StoreError(AuditError):
    """The store is missing, in use elsewhere, or not made by this project."""


class ProtocolError(AuditError):
    """The protocol does not say what it must, or was changed after it was frozen."""


class EmptyGroup(AuditError):
    """Nothing to count."""


class TooFewData(AuditError):
    """An estimate was refused: the reason says why, the advice what to show instead."""
