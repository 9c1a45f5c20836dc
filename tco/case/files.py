"""Reading a file the user names, whatever it turns out to be."""

from pathlib import Path

from tco.case.problems import CaseError, Problem

LARGEST_BYTES = 50_000_000
"""No table, case or weather file of a person is larger. Common practice, no source."""


def read_text(path: Path, *, what: str, any_encoding: bool) -> str:
    """Text of a file, with its line ends as they are; see `read_bytes` and `text_of`.

    Raises
    ------
    CaseError
        Where there is no such file, or it cannot be opened, or is no text.
    """
    data = read_bytes(path, what=what)
    return text_of(data, file=path.name, what=what, any_encoding=any_encoding)


def read_bytes(path: Path, *, what: str) -> bytes:
    """What a file holds.

    Parameters
    ----------
    what
        What the file should be, for the message: "candidate table".

    Raises
    ------
    CaseError
        Where there is no such file, or it cannot be opened, or is too large.
    """

    def failed(reason: str, mend: str) -> CaseError:
        return CaseError([Problem(reason, file=str(path), mend=mend)])

    try:
        if path.is_dir():
            raise failed("is a folder", f"Name the {what} in it.")
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise failed("there is no such file", "Check the path.") from None
    except PermissionError:
        raise failed("may not be read", "Check its permissions.") from None
    except (OSError, ValueError) as error:
        raise failed(f"cannot be opened ({error})", "Check the path.") from None
    if len(data) > LARGEST_BYTES:
        raise failed(f"is larger than any {what}", "Check the path.")
    return data


def text_of(data: bytes, *, file: str, what: str, any_encoding: bool) -> str:
    """Text of a file's bytes.

    UTF-8 with or without a byte order mark, UTF-16 with one, and, where `any_encoding` allows it,
    Windows-1252, which spreadsheets still write.

    Raises
    ------
    CaseError
        Where it is no text.
    """

    def failed(reason: str, mend: str) -> CaseError:
        return CaseError([Problem(reason, file=file, mend=mend)])

    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig", "cp1252"] if any_encoding else ["utf-8-sig"]
    if data.startswith(b"PK\x03\x04"):
        raise failed("is a spreadsheet or an archive", "Save the sheet as CSV.")
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    if b"\0" in data:
        raise failed("is not a text file", f"Check that it is the {what}.")
    raise failed("is not UTF-8 text", "Save it again with the encoding UTF-8.")


def whole_text(text: str) -> str:
    """A text without half characters, which nothing can write or draw; pairs of them are joined.

    A browser may cut a character outside the first 65,536 into two halves (surrogates, The Unicode
    Standard, section 3.8); what is left of one becomes the replacement character.

    >>> whole_text("\\ud83d\\udd0b") == "\\U0001f50b", whole_text("a\\ud83d") == "a\\ufffd"
    (True, True)
    """
    if text.isascii() or not any("\ud800" <= character <= "\udfff" for character in text):
        return text
    return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def write_text(text: str, path: Path) -> None:
    """Write a file as UTF-8 with its line ends as they are.

    Raises
    ------
    CaseError
        Where the file cannot be written.
    """
    try:
        path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise CaseError([Problem(what, file=str(path), mend="Check the path.")]) from None
