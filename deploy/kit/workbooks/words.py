"""Every sentence of this package in one place: what is wrong, and the mend."""

from __future__ import annotations

from enum import StrEnum, auto


class Code(StrEnum):
    # the file
    EMPTY_FILE = auto()
    TOO_BIG = auto()
    NOT_A_WORKBOOK = auto()
    ENCRYPTED = auto()
    OLD_XLS = auto()
    TEXT_FILE = auto()
    WEB_PAGE = auto()
    OTHER_FORMAT = auto()
    MACROS = auto()
    TEMPLATE_FILE = auto()
    STRICT_FORMAT = auto()
    DAMAGED = auto()
    # the zip archive
    UNPACKS_TOO_BIG = auto()
    PACKED_TOO_TIGHTLY = auto()
    TOO_MANY_PARTS = auto()
    UNSAFE_NAME = auto()
    PART_TWICE = auto()
    PARTS_OVERLAP = auto()
    ODD_PACKING = auto()
    # what the parts hold
    ENTITIES = auto()
    TOO_COMPLICATED = auto()
    EXTERNAL_LINK = auto()
    EMBEDDED = auto()
    TOO_MANY_TEXTS = auto()
    TOO_MUCH_TEXT = auto()
    TEXT_TOO_LONG = auto()
    ESCAPED_TEXT = auto()
    # a sheet
    NO_SHEET = auto()
    SHEET_TWICE = auto()
    TOO_MANY_ROWS = auto()
    TOO_MANY_COLUMNS = auto()
    OFF_THE_SHEET = auto()
    TOO_MANY_CELLS = auto()
    TOO_MANY_MERGES = auto()
    OUT_OF_ORDER = auto()
    BAD_CELL = auto()
    BAD_SHEET = auto()
    NO_HEADER = auto()
    NO_ROWS = auto()
    # the header
    HEADER_NOT_TEXT = auto()
    HEADER_TWICE = auto()
    HEADER_UNKNOWN = auto()
    HEADER_MISSING = auto()
    HEADER_MERGED = auto()
    VALUES_WITHOUT_HEADER = auto()
    # a cell
    REQUIRED = auto()
    FORMULA = auto()
    FORMULA_NOT_WORKED_OUT = auto()
    MERGED = auto()
    MERGED_EMPTY = auto()
    ERROR_VALUE = auto()
    NUMBER_FOR_TEXT = auto()
    DATE_FOR_TEXT = auto()
    TRUE_FALSE = auto()
    CONTROL_CHARACTER = auto()
    LINE_BREAK = auto()
    ESCAPED_CHARACTER = auto()
    LOOK_ALIKE = auto()
    TOO_LONG = auto()
    NOT_A_NUMBER = auto()
    NOT_WHOLE = auto()
    LESS_THAN_NOTHING = auto()
    TOO_MANY = auto()
    NUMBER_TOO_LONG = auto()
    DATE_FOR_NUMBER = auto()
    NUMBER_FOR_DATE = auto()
    TEXT_DATE = auto()
    NO_SUCH_DATE = auto()
    DATE_WITHOUT_DAY = auto()
    DATE_WITH_TIME = auto()
    DATE_TOO_EARLY = auto()
    TIME_ONLY = auto()
    NOT_A_TIME = auto()
    NOT_A_MOMENT = auto()
    NOT_YES_OR_NO = auto()
    NOT_A_CHOICE = auto()
    NOT_A_GTIN = auto()
    GTIN_CHECK_DIGIT = auto()
    GTIN_NUMBER = auto()
    ROW_TWICE = auto()
    TOO_MANY_FAULTS = auto()
    # notices
    SHEET_HIDDEN = auto()
    SHEET_NOT_READ = auto()
    COLUMN_NOT_READ = auto()
    ROWS_HIDDEN = auto()
    COLUMNS_HIDDEN = auto()
    MERGED_NOT_FILLED = auto()
    FROM_1904 = auto()


_SAVE_ANEW = "Open it in your spreadsheet program and save it as an Excel workbook (.xlsx)"
_COPY_VALUES = "Copy the values alone into a new copy of the template"
_AS_TEXT = "Format the column as text and type the value again from the label or list"
_TYPE_DATE = "Type the date in full, as year-month-day, for instance 2027-03-31"

WORDS: dict[Code, tuple[str, str]] = {
    Code.EMPTY_FILE: ("the file is empty", "Choose the file again"),
    Code.TOO_BIG: (
        "the file is larger than {most} MB",
        "Split it, or take out pictures and unused sheets",
    ),
    Code.NOT_A_WORKBOOK: ("the file is not an Excel workbook", "Choose the .xlsx file"),
    Code.ENCRYPTED: (
        "the workbook is protected by a password",
        "Remove the password that opens it, and save it again",
    ),
    Code.OLD_XLS: ("the file has an old format of Excel (.xls)", _SAVE_ANEW),
    Code.TEXT_FILE: (
        "the file is text (such as CSV), whatever its name says",
        "Copy the values into the template, so that nothing is guessed about zeros and dates",
    ),
    Code.WEB_PAGE: ("the file is a web page or XML, whatever its name says", _SAVE_ANEW),
    Code.OTHER_FORMAT: (
        "the file is {format}, not an .xlsx workbook",
        "Open the spreadsheet itself and save it as an Excel workbook (.xlsx)",
    ),
    Code.MACROS: (
        "the workbook holds macros or other active content ({part})",
        "Save it as an Excel workbook without macros (.xlsx)",
    ),
    Code.TEMPLATE_FILE: ("the file is an Excel template (.xltx)", _SAVE_ANEW),
    Code.STRICT_FORMAT: (
        "the workbook is saved as “Strict Open XML”",
        "Save it as an ordinary Excel workbook (.xlsx)",
    ),
    Code.DAMAGED: ("the workbook is damaged ({detail})", _SAVE_ANEW),
    Code.UNPACKS_TOO_BIG: ("the workbook unpacks to more than {most} MB", _COPY_VALUES),
    Code.PACKED_TOO_TIGHTLY: (
        "part {part} unpacks to more than {most} times its size",
        _COPY_VALUES,
    ),
    Code.TOO_MANY_PARTS: ("the workbook has more than {most} parts", _COPY_VALUES),
    Code.UNSAFE_NAME: ("part {part} has a name that points outside the workbook", _COPY_VALUES),
    Code.PART_TWICE: ("part {part} is in the workbook twice", _SAVE_ANEW),
    Code.PARTS_OVERLAP: ("part {part} overlaps another part of the file", _COPY_VALUES),
    Code.ODD_PACKING: ("part {part} is packed in a way that workbooks do not use", _SAVE_ANEW),
    Code.ENTITIES: ("part {part} declares a document type or entities", _COPY_VALUES),
    Code.TOO_COMPLICATED: (
        "part {part} is too complicated (more than {most} {thing})",
        _COPY_VALUES,
    ),
    Code.EXTERNAL_LINK: (
        "the workbook links to other files or data ({part})",
        "Break the links (Data, Edit Links) or copy the values alone into the template",
    ),
    Code.EMBEDDED: ("the workbook holds an embedded file ({part})", _COPY_VALUES),
    Code.TOO_MANY_TEXTS: ("the workbook stores more texts than it has cells", _COPY_VALUES),
    Code.TOO_MUCH_TEXT: (
        "the workbook holds more than {most} characters of text",
        "Split it into several workbooks",
    ),
    Code.TEXT_TOO_LONG: (
        "a text is longer than the {most} characters that a cell can hold",
        _COPY_VALUES,
    ),
    Code.ESCAPED_TEXT: ("a text holds an escaped character: {value}", _COPY_VALUES),
    Code.NO_SHEET: (
        "there is no sheet named so; the workbook has {found}",
        "Name the sheet as the template does",
    ),
    Code.SHEET_TWICE: ("two sheets have this name", "Rename or remove one of them"),
    Code.TOO_MANY_ROWS: (
        "holds values below row {last}; at most {most} rows are read at once",
        "Split the sheet into several workbooks, or clear what stands below",
    ),
    Code.TOO_MANY_COLUMNS: (
        "holds values right of column {last}; at most {most} columns are read",
        "Clear what stands to the right of the table",
    ),
    Code.OFF_THE_SHEET: (
        "names a cell {cell}, which no sheet has (16,384 columns, 1,048,576 rows)",
        _COPY_VALUES,
    ),
    Code.TOO_MANY_CELLS: (
        "the workbook has more than {most} cells, empty formatted ones included",
        "Delete the empty rows and columns round the table, or split it",
    ),
    Code.TOO_MANY_MERGES: ("has too many merged cells", "Unmerge all cells"),
    Code.OUT_OF_ORDER: ("cell {cell} is out of order or there twice", _SAVE_ANEW),
    Code.BAD_CELL: ("cell {cell} is not stored as a cell should be ({detail})", _SAVE_ANEW),
    Code.BAD_SHEET: ("is not stored as a sheet should be ({detail})", _SAVE_ANEW),
    Code.NO_HEADER: ("has no headers in row 1", "Keep the template's first row as it is"),
    Code.NO_ROWS: ("has no rows below the headers", "Fill in at least one row"),
    Code.HEADER_NOT_TEXT: ("the header is not a text", "Type the header as the template has it"),
    Code.HEADER_TWICE: (
        "the same header stands over column {first} already",
        "Remove or rename one of the two",
    ),
    Code.HEADER_UNKNOWN: (
        "no column of this name is known here (known: {known})",
        "Correct the header, or remove the column",
    ),
    Code.HEADER_MISSING: ("the column is missing", "Add it as the template has it"),
    Code.HEADER_MERGED: ("the header is part of merged cells {area}", "Unmerge them"),
    Code.VALUES_WITHOUT_HEADER: (
        "holds values but has no header",
        "Give it its header, or clear it",
    ),
    Code.REQUIRED: ("is empty, and must not be", "Fill it in"),
    Code.FORMULA: (
        "holds a formula",
        "Replace it by its value (copy, paste special, values)",
    ),
    Code.FORMULA_NOT_WORKED_OUT: (
        "holds a formula that was never worked out",
        "Open the workbook in a spreadsheet program and save it, or type the value",
    ),
    Code.MERGED: (
        "is part of merged cells {area}, and this column names what the row is about",
        "Unmerge the cells and give each row its own value",
    ),
    Code.MERGED_EMPTY: (
        "is part of merged cells {area}, which are never filled down",
        "Unmerge the cells and give each row its own value",
    ),
    Code.ERROR_VALUE: ("holds the error {value}", "Correct it or clear it"),
    Code.NUMBER_FOR_TEXT: (
        "holds the number {value}, so leading zeros or digits may be lost",
        _AS_TEXT,
    ),
    Code.DATE_FOR_TEXT: (
        "holds a date or time ({value}), perhaps made by the spreadsheet from something else",
        _AS_TEXT,
    ),
    Code.TRUE_FALSE: ("holds TRUE or FALSE, which does not fit here", _AS_TEXT),
    Code.CONTROL_CHARACTER: (
        "holds an invisible character (U+{point}) in {value}",
        "Type the value again by hand",
    ),
    Code.LINE_BREAK: ("holds a line break or tab in {value}", "Write it on one line"),
    Code.ESCAPED_CHARACTER: (
        "holds an escaped character (such as _x000D_) in {value}",
        "Type the value again by hand",
    ),
    Code.LOOK_ALIKE: (
        "holds {character} in {value}; only plain letters, digits and signs are taken here",
        "Type the value again on a plain keyboard layout",
    ),
    Code.TOO_LONG: ("has {length} characters; at most {most} are taken", "Shorten it"),
    Code.NOT_A_NUMBER: (
        "holds {value}, which is not a plain number",
        "Write digits alone, with a point for decimals and no thousands mark",
    ),
    Code.NOT_WHOLE: ("holds {value}, which is not a whole number", "Write a whole number"),
    Code.LESS_THAN_NOTHING: ("holds {value}, which is less than nothing", "Write digits alone"),
    Code.TOO_MANY: ("holds {value}, which is more than {most}", "Write what is meant"),
    Code.NUMBER_TOO_LONG: (
        "holds {value}, which has more digits than a spreadsheet keeps",
        _AS_TEXT,
    ),
    Code.DATE_FOR_NUMBER: (
        "holds a date or time ({value}) where a number is wanted",
        "Format the column as a number and type the value again",
    ),
    Code.NUMBER_FOR_DATE: ("holds the number {value}, not a date", _TYPE_DATE),
    Code.TEXT_DATE: (
        "holds {value}, which is neither a date of the spreadsheet nor written year-month-day",
        _TYPE_DATE,
    ),
    Code.NO_SUCH_DATE: ("holds {value}, a date that does not exist", _TYPE_DATE),
    Code.DATE_WITHOUT_DAY: (
        "shows no day or no year, so that the spreadsheet filled it in ({value})",
        _TYPE_DATE,
    ),
    Code.DATE_WITH_TIME: ("holds a time of day too ({value})", _TYPE_DATE),
    Code.DATE_TOO_EARLY: ("holds {value}, a date before March 1900", _TYPE_DATE),
    Code.TIME_ONLY: ("holds a time of day without a date ({value})", _TYPE_DATE),
    Code.NOT_A_TIME: (
        "holds {value}, which is not a time of day",
        "Type hours and minutes, for instance 08:30",
    ),
    Code.NOT_A_MOMENT: (
        "holds {value}, which is not a date with a time",
        "Type both, for instance 2027-03-31 08:30",
    ),
    Code.NOT_YES_OR_NO: ("holds {value}", "Write yes or no"),
    Code.NOT_A_CHOICE: ("holds {value}, which is none of: {choices}", "Choose one of these"),
    Code.NOT_A_GTIN: (
        "holds {value}, which is not a GTIN (8, 12, 13 or 14 digits)",
        _AS_TEXT,
    ),
    Code.GTIN_CHECK_DIGIT: (
        "holds {value}, whose last digit (the check digit) is wrong",
        "Compare it with the label, digit by digit",
    ),
    Code.GTIN_NUMBER: (
        "holds the number {value}, which is no GTIN even with leading zeros put back",
        _AS_TEXT,
    ),
    Code.ROW_TWICE: ("says again what row {first} says ({value})", "Remove one of the two rows"),
    Code.TOO_MANY_FAULTS: (
        "more than {most} faults; the rows below were not read",
        "Mend these first",
    ),
}

NOTICES: dict[Code, str] = {
    Code.SHEET_HIDDEN: "is hidden in the workbook, and was read",
    Code.SHEET_NOT_READ: "was not read ({state}); it is no part of this import",
    Code.COLUMN_NOT_READ: "was not read; it is no part of this import",
    Code.ROWS_HIDDEN: "rows {rows} are hidden, and were read",
    Code.COLUMNS_HIDDEN: "columns {columns} are hidden, and were read",
    Code.MERGED_NOT_FILLED: "cells {area} are merged; the value counts for its first cell alone",
    Code.FROM_1904: "the workbook counts days from 1904; its dates were read so",
}

if missing := [code for code in Code if (code in WORDS) == (code in NOTICES)]:
    raise AssertionError(f"words for {missing}: once in WORDS or NOTICES")
