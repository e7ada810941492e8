"""Device labels against published samples, and against codes drawn and read by other programs."""

from datetime import date

import pytest
from stdnum import ean, gs1_128

from opnote.reckon.label import (
    LabelError,
    gs1_check_digit,
    hibc_check_character,
    label_from,
)

ON = date(2026, 3, 9)
GS = "\x1d"


@pytest.mark.parametrize(
    ("data", "check"),
    [
        ("629104150021", 3),  # GS1, how to calculate a check digit manually; sum 57
        ("890400021003", 7),  # GS1 India, the same page; sum 63
        ("37610425002123456", 9),  # SSCC of the General Specifications; sum 101
        ("1234567890123", 1),  # GS1 Barcode Syntax Dictionary, test of csum; sum 109
        ("0950400005911", 8),  # HL7 FHIR, Device example; sum 72
        ("0084458800328", 8),  # HL7 FHIR, Device example; sum 112
        ("0064316900176", 3),  # HL7 version 2, UDI example
        ("1088452106285", 6),  # AccessGUDID, sample of its interface
    ],
)
def test_gs1_check_digits(data: str, check: int) -> None:
    assert gs1_check_digit(data) == check
    assert ean.calc_check_digit(data) == str(check)  # python-stdnum, by other code


@pytest.mark.parametrize(
    "product",
    [
        "12345678901232",  # GS1 Barcode Syntax Dictionary, test of csum: must fail
        "09504000059117",
        "00844588003289",
    ],
)
@pytest.mark.parametrize("shape", ["(01){}(10)A1", "01{}10A1"])
def test_a_wrong_check_digit_of_the_product_is_refused(product: str, shape: str) -> None:
    with pytest.raises(LabelError, match="check digit of the product number"):
        label_from(shape.format(product), ON)


FHIR_SAMPLES = [
    # HL7 FHIR, Device example, and the sample label of GS1.
    ("(01)00844588003288(17)141120(10)7654321D(21)10987654d321", "00844588003288"),
    # HL7 FHIR, US Core and others, with the product number of GS1's own samples.
    ("(01)09504000059118(17)141120(10)7654321D(21)10987654d321", "09504000059118"),
    # The same as HL7 prints some samples.
    ("{01}00844588003288{17}141120{10}7654321D{21}10987654d321", "00844588003288"),
    # The order of elements is free (HL7 C-CDA examples).
    ("(21)10987654d321(10)7654321D(17)141120(01)00844588003288", "00844588003288"),
    # GS1 General Specifications: a separator is read as character 29.
    (f"010084458800328817141120107654321D{GS}2110987654d321", "00844588003288"),
    # A separator behind an element of fixed length is skipped (GS1 General Specifications).
    (f"0100844588003288{GS}17141120{GS}107654321D{GS}2110987654d321", "00844588003288"),
    # Ways in which a scanner that sends keystrokes writes a separator.
    ("010084458800328817141120107654321D<GS>2110987654d321", "00844588003288"),
    ("010084458800328817141120107654321D{GS}2110987654d321", "00844588003288"),
    ("010084458800328817141120107654321D^2110987654d321", "00844588003288"),
    ("010084458800328817141120107654321D~2110987654d321", "00844588003288"),
    ("<GS>010084458800328817141120107654321D<GS>2110987654d321<GS>", "00844588003288"),
    # Drawn by BWIPP (Data Matrix, Code 128, DataBar prefix by hand, QR), read by ZXing, with the
    # prefix that names the symbology.
    (f"]d2010950400005911817141120107654321D{GS}2110987654d321", "09504000059118"),
    (f"]C1010084458800328817141120107654321D{GS}2110987654d321", "00844588003288"),
    (f"]e0010084458800328817141120107654321D{GS}2110987654d321", "00844588003288"),
    (f"]Q301095040000591182110987654d321{GS}107654321D{GS}17141120", "09504000059118"),
]


@pytest.mark.parametrize(("scan", "product"), FHIR_SAMPLES)
def test_published_gs1_label(scan: str, product: str) -> None:
    label = label_from(scan, ON)
    assert label.issuer == "gs1"
    assert label.device_identifier == product
    assert label.lot == "7654321D"
    assert label.serial == "10987654d321"
    assert label.expires == date(2014, 11, 20)
    assert (label.made, label.count, label.other) == (None, None, ())
    assert label.raw == scan


def test_a_second_reader_agrees_on_the_published_label() -> None:
    scan = f"010084458800328817141120107654321D{GS}2110987654d321"
    label, second = label_from(scan, ON), gs1_128.info(scan, separator=GS)
    assert second["01"] == label.device_identifier
    assert second["10"] == label.lot
    assert second["21"] == label.serial
    assert second["17"] == label.expires


def test_all_identifiers_of_a_label() -> None:
    # HL7 FHIR, example-udi1: made 2014-12-31, expires 2015-07-07.
    label = label_from("{01}00123456789012{11}141231{17}150707{10}A213B1{21}1234", ON)
    assert label.device_identifier == "00123456789012"
    assert label.made == date(2014, 12, 31)
    assert label.expires == date(2015, 7, 7)
    assert (label.lot, label.serial) == ("A213B1", "1234")


@pytest.mark.parametrize(
    ("scan", "lot", "serial", "other"),
    [
        # HL7 version 2: a serial number but no lot.
        ("(01)00643169001763(17)160712(21)21A11F4855", None, "21A11F4855", ()),
        # GS1 Barcode Syntax Dictionary: 240 and 241 are X..30, 8012 is X..20.
        ("(01)09504000059118(10)00ab(240)X-7", "00ab", None, (("240", "X-7"),)),
        (f"0109504000059118241P/N1{GS}10L1", "L1", None, (("241", "P/N1"),)),
        (f"0109504000059118108012{GS}80121.0", "8012", None, (("8012", "1.0"),)),
        # The second of two codes on a label has no product number of its own.
        ("(17)261231(10)0042", "0042", None, ()),
    ],
)
def test_lot_and_serial_are_text(
    scan: str, lot: str | None, serial: str | None, other: tuple[tuple[str, str], ...]
) -> None:
    label = label_from(scan, ON)
    assert (label.lot, label.serial, label.other) == (lot, serial, other)


def test_pieces_are_counted() -> None:
    # GS1 Barcode Syntax Dictionary: 30 is N..8.
    assert label_from("(01)09504000059118(30)00000012(10)A", ON).count == 12


@pytest.mark.parametrize(
    ("written", "day"),
    [
        # General Specifications: day 00 is the last of the month.
        ("260200", date(2026, 2, 28)),
        ("240200", date(2024, 2, 29)),
        ("261200", date(2026, 12, 31)),
        # GS1 Barcode Syntax Dictionary, tests of the date: real days, leap years.
        ("200229", date(2020, 2, 29)),
        ("210229", None),
        ("200431", None),
        ("200031", None),
        ("201301", None),
        ("200132", None),
    ],
)
@pytest.mark.parametrize("ai", ["11", "17"])
def test_days_of_gs1(ai: str, written: str, day: date | None) -> None:
    scan = f"(01)09504000059118({ai}){written}"
    if day is None:
        with pytest.raises(LabelError):
            label_from(scan, ON)
    else:
        label = label_from(scan, ON)
        assert (label.made if ai == "11" else label.expires) == day


@pytest.mark.parametrize(
    ("year", "written", "read"),
    [
        # GS1 reference date: 49 years back to 50 ahead. 76 - 26 = 50, 77 - 26 = 51.
        (2026, "76", 2076),
        (2026, "77", 1977),
        (2026, "00", 2000),
        (2026, "25", 2025),
        # 10 - 60 = -50, 11 - 60 = -49.
        (2060, "10", 2110),
        (2060, "11", 2011),
        (2099, "49", 2149),
        (2099, "50", 2050),
        (2000, "50", 2050),
        (2000, "51", 1951),
    ],
)
def test_century_by_the_day_of_the_operation(year: int, written: str, read: int) -> None:
    label = label_from(f"(01)09504000059118(17){written}0615", date(year, 3, 9))
    assert label.expires == date(read, 6, 15)


def test_expiry_with_a_time_has_no_day_00() -> None:
    # GS1 Barcode Syntax Dictionary: 7003 is a date with hours and minutes.
    assert label_from("(01)09504000059118(7003)2606151430", ON).expires == date(2026, 6, 15)
    with pytest.raises(LabelError):
        label_from("(01)09504000059118(7003)2606001430", ON)


@pytest.mark.parametrize(
    "scan",
    [
        "0109504000059118" + "10A17260131",  # lot A and 17, or lot A17260131
        "0109504000059118" + "10ABC12321SER456",  # lot ABC123 and serial SER456
        "0109504000059118" + "21SER45610ABC123",
        "0109504000059118" + "10ABC12311250101" + "17260131",
        "10ABC123" + "0109504000059118",
        "0109504000059118" + "10ABC123240PART",
        "0109504000059118" + "10ABC12370032606151430",
        # More than 20 characters can be no lot.
        "010084458800328817141120" + "107654321D2110987654d321",
        "0109504000059118" + "10ABCDEFGHIJKLMNOPQRSTUVWXYZ",
    ],
)
def test_a_lot_that_may_have_swallowed_what_follows_is_refused(scan: str) -> None:
    with pytest.raises(LabelError, match="type the lot and serial number"):
        label_from(scan, ON)


@pytest.mark.parametrize(
    ("scan", "lot"),
    [
        # Behind the last element there is no separator (GS1 General Specifications).
        ("010084458800328817141120" + "107654321D", "7654321D"),
        ("0109504000059118" + "17260131" + "10A17260131", "A17260131"),  # 17 is there already
        ("0109504000059118" + "10A17269931", "A17269931"),  # 99 is no month
        ("0109504000059118" + "102124", "2124"),  # nothing would be left of the lot
        (f"0109504000059118{GS}" + "10ABC12321SER456", "ABC12321SER456"),  # separators are sent
    ],
)
def test_a_last_lot_needs_no_separator(scan: str, lot: str) -> None:
    assert label_from(scan, ON).lot == lot


@pytest.mark.parametrize(
    ("text", "check"),
    [
        ("+A99912345", "7"),  # HIBCC, sample; sum 93
        ("+BLUEUNICORN7", "N"),  # sum 281
        ("+A123ABCDEFGHI1234567891", "E"),  # sum 229
        ("+X999123ABC0/$$31905151234AB/S5678EDFG/16D20151001", "J"),  # sum 535
        # Drawn by BWIPP, read by ZXing.
        ("+A123BJC5D6E71", "G"),
        ("+H123ABC01234567890", "D"),
    ],
)
def test_hibc_check_characters(text: str, check: str) -> None:
    assert hibc_check_character(text) == check


def test_the_check_values_are_those_published() -> None:
    # HIBCC: 0-9, A-Z, then - 36, . 37, space 38, $ 39, / 40, + 41, % 42.
    for value, sign in enumerate("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"):
        assert hibc_check_character(sign) == sign
        # 41 and the value, modulo 43.
        assert hibc_check_character("+" + sign) == hibc_check_character(
            "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"[(41 + value) % 43]
        )


@pytest.mark.parametrize(
    ("scan", "product"),
    [
        ("+A999123457", "A99912345"),
        ("*+A999123457*", "A99912345"),  # as printed under Code 39, with start and stop
        ("]C0+A999123457", "A99912345"),  # Code 128, drawn by BWIPP and read by ZXing
        ("+BLUEUNICORN7N", "BLUEUNICORN7"),
        ("+A123ABCDEFGHI1234567891E", "A123ABCDEFGHI1234567891"),
        ("]d1+A123BJC5D6E71G", "A123BJC5D6E71"),
    ],
)
def test_published_first_codes_of_hibc(scan: str, product: str) -> None:
    label = label_from(scan, ON)
    assert (label.issuer, label.device_identifier) == ("hibc", product)
    assert (label.lot, label.serial, label.expires, label.link) == (None, None, None, None)
    assert label.check == scan.strip("*")[-1]


def test_published_double_code_of_hibc() -> None:
    label = label_from("+X999123ABC0/$$31905151234AB/S5678EDFG/16D20151001J", ON)
    assert label.device_identifier == "X999123ABC0"
    assert label.expires == date(2019, 5, 15)
    assert (label.lot, label.serial) == ("1234AB", "5678EDFG")
    assert label.made == date(2015, 10, 1)


FHIR_HIBC = "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202"


def test_the_sample_of_fhir_has_a_wrong_check_character() -> None:
    with pytest.raises(LabelError, match="check character"):
        label_from(FHIR_HIBC + "C", ON)


def test_the_sample_of_fhir_reads_once_its_check_is_mended() -> None:
    # Sum 834 = 19 * 43 + 17, which is H; BWIPP draws H behind the same text.
    label = label_from(FHIR_HIBC + "H", ON)
    assert label.device_identifier == "H123PARTNO1234567890120"
    # Kind 4: 20 years, month 02, day 02, 16 hours.
    assert label.expires == date(2020, 2, 2)
    assert (label.lot, label.serial) == ("LOT123456789012345", "XYZ456789012345678")
    assert label.made == date(2013, 2, 2)


@pytest.mark.parametrize(
    ("second", "lot", "serial", "expires", "count"),
    [
        # HIBC supplier labelling standard 2.x: each flag and each kind of date.
        ("26068LOT7", "LOT7", None, date(2026, 3, 9), None),  # 31 + 28 + 9 = 68
        ("$LOT7", "LOT7", None, None, None),
        ("$+SER7", None, "SER7", None, None),
        ("$$0926LOT7", "LOT7", None, date(2026, 9, 30), None),  # a month ends on its last day
        ("$$1228LOT7", "LOT7", None, date(2028, 12, 31), None),
        ("$$0228LOT7", "LOT7", None, date(2028, 2, 29), None),
        ("$$2030926LOT7", "LOT7", None, date(2026, 3, 9), None),
        ("$$3260309LOT7", "LOT7", None, date(2026, 3, 9), None),
        ("$$426030916LOT7", "LOT7", None, date(2026, 3, 9), None),
        ("$$526068LOT7", "LOT7", None, date(2026, 3, 9), None),
        ("$$62606816LOT7", "LOT7", None, date(2026, 3, 9), None),
        ("$$7LOT7", "LOT7", None, None, None),
        ("$$8243260309LOT7", "LOT7", None, date(2026, 3, 9), 24),
        ("$$9001003260309LOT7", "LOT7", None, date(2026, 3, 9), 100),
        ("$$8247LOT7", "LOT7", None, None, 24),
        ("$$824", None, None, None, 24),
        ("$$+3260309SER7", None, "SER7", date(2026, 3, 9), None),
        ("$$+7SER7", None, "SER7", None, None),
        ("$LOT7/SSER7/14D20260309", "LOT7", "SER7", date(2026, 3, 9), None),
    ],
)
def test_second_codes_of_hibc(
    second: str, lot: str | None, serial: str | None, expires: date | None, count: int | None
) -> None:
    joined, alone = f"+A99912345/{second}", f"+{second}7"  # 7 checks +A99912345, and links to it
    for text in (joined, alone):
        label = label_from(text + hibc_check_character(text), ON)
        assert (label.lot, label.serial, label.expires, label.count) == (
            lot,
            serial,
            expires,
            count,
        )
    assert label.device_identifier is None
    assert label.link == "7"


@pytest.mark.parametrize(
    "second",
    [
        "26000LOT", "26366LOT",  # 2026 has days 1 to 365
        "$$1326LOT", "$$2023026LOT", "$$3261301LOT", "$$3260230LOT", "$$426030924LOT",
        "$$526367LOT", "$$XLOT", "$$34",
        "$LOT/16D20260230", "$LOT/16D260309", "$LOT/Q5", "$LOT/",
        "$LOT/SA/SB",
    ],
)  # fmt: skip
def test_what_hibc_does_not_have_is_refused(second: str) -> None:
    text = f"+A99912345/{second}"
    with pytest.raises(LabelError):
        label_from(text + hibc_check_character(text), ON)


def test_a_check_character_may_be_a_space() -> None:
    # + 41, A 10, nines and digits: 41 + 10 + 9 + 9 + 9 + 1 + 2 = 81 = 43 + 38, which is a space.
    assert hibc_check_character("+A99912") == " "
    assert label_from("+A99912 ", ON).device_identifier == "A99912"
    assert label_from("+A99912 \r\n", ON).device_identifier == "A99912"
    assert label_from("+A999123457 ", ON).device_identifier == "A99912345"


def test_a_space_that_may_be_a_check_character_or_none_is_refused() -> None:
    # Behind ...Y belongs J, and behind ...YJ a space: J is 19, and 19 + 19 = 38.
    assert hibc_check_character("+E00M00/$$3000101Y") == "J"
    assert hibc_check_character("+E00M00/$$3000101YJ") == " "
    with pytest.raises(LabelError, match="space at the end"):
        label_from("+E00M00/$$3000101YJ ", ON)
    assert label_from("+E00M00/$$3000101YJ", ON).lot == "Y"


@pytest.mark.parametrize(
    "scan",
    [
        # FDA, UDI formats by issuing agency; sample of AccessGUDID.
        "=/W4146EB0010T0475=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123",
        "]C0=W00001812345600",
    ],
)
def test_a_tissue_code_is_kept_whole(scan: str) -> None:
    label = label_from(scan, ON)
    assert label.issuer == "iccbba"
    assert label.raw == scan
    assert (label.lot, label.serial, label.expires, label.device_identifier) == (None,) * 4
    assert label.other == (("ISBT 128", scan.removeprefix("]C0")),)
    assert label.remark is not None
    assert "kept whole" in label.remark


@pytest.mark.parametrize(
    "scan",
    ["6291041500213", "]E06291041500213", "8904000210037"],  # EAN-13 of GS1 and GS1 India
)
def test_a_bare_product_number_is_named(scan: str) -> None:
    with pytest.raises(LabelError, match="only the product number") as refused:
        label_from(scan, ON)
    assert "other code" in refused.value.remedy


@pytest.mark.parametrize(
    "scan",
    [
        "", " \r\n", "]", "]d2", "]zz0109504000059118", "]C0hello", "]d2+A999123457",
        "hello", "https://id.gs1.org/01/09504000059118/10/A",
        "(99)X", "(01)", "()", "(01)09504000059118(10)A(X)B", "(172)60101", "(1)7260101",
        "01095040000591", "(01)09504000059118(01)00844588003288",
        "0109504000059118\n0109504000059118", "(01)09504000059118(10)\u0661",
        "00376104250021234568", "+", "++", "+A9", "+a999123457", "+1234", "^", "<GS>", "**",
        "*+*",
    ],
)  # fmt: skip
def test_anything_else_is_refused_with_a_remedy(scan: str) -> None:
    with pytest.raises(LabelError) as refused:
        label_from(scan, ON)
    assert refused.value.message
    assert refused.value.remedy
    assert str(refused.value) == f"{refused.value.message} {refused.value.remedy}"
