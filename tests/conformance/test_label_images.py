"""Symbols drawn by bwip-js (npm, MIT), decoded by zxing-cpp (PyPI, Apache-2.0), read here."""
import tempfile
import unittest

import bwip_js
import reader
import symbols

GTIN = ["gs1", "09520123456788"]
UDI = "(01)09520123456788(17)271231(10)ABC-123(21)SN0001"
UPN = ["hibcc", "A999123455"]

# bwip-js's options beside what the reader must find: form, agency and code, lot, serial, expiry.
# GTINs of GS1's example prefix 952; HIBC as in ANSI/HIBC 2.6 (labeler A999), ISBT 128 as in
# ICCBBA ST-017, the PPN of IFA's specification, the NDC of 21 CFR 201.25's practice (0067-6382-30).
DRAWN = [
    ({"bcid": "gs1datamatrix", "text": UDI}, "gs1_element_string", GTIN, "ABC-123", "SN0001", "2027-12-31"),
    ({"bcid": "gs1-128", "text": UDI}, "gs1_element_string", GTIN, "ABC-123", "SN0001", "2027-12-31"),
    ({"bcid": "gs1qrcode", "text": UDI}, "gs1_element_string", GTIN, "ABC-123", "SN0001", "2027-12-31"),
    ({"bcid": "databarexpanded", "text": "(01)09520123456788(10)ABC123"}, "gs1_element_string", GTIN, "ABC123", None, None),
    ({"bcid": "databarexpandedstacked", "text": "(01)09520123456788(10)ABC123"}, "gs1_element_string", GTIN, "ABC123", None, None),
    ({"bcid": "qrcode", "text": "https://id.example.com/01/09520123456788/10/ABC123?17=271231"}, "gs1_digital_link", GTIN, "ABC123", None, "2027-12-31"),
    ({"bcid": "ean13", "text": "9520123456788"}, "gtin", GTIN, None, None, None),
    ({"bcid": "upca", "text": "300676382302"}, "gtin", ["gs1", "00300676382302"], None, None, None),
    ({"bcid": "ean8", "text": "95200002"}, "gtin", ["gs1", "00000095200002"], None, None, None),
    ({"bcid": "itf14", "text": "19520123456785"}, "gtin", ["gs1", "19520123456785"], None, None, None),
    ({"bcid": "hibcdatamatrix", "text": "A999123455/$$3271231LOT7"}, "hibc_concatenated", UPN, "LOT7", None, "2027-12-31"),
    ({"bcid": "hibccode128", "text": "A999123455/$$3271231LOT7"}, "hibc_concatenated", UPN, "LOT7", None, "2027-12-31"),
    ({"bcid": "hibccode39", "text": "A999123455"}, "hibc_primary", UPN, None, None, None),
    ({"bcid": "hibcqrcode", "text": "A999123455/$$3271231LOT7"}, "hibc_concatenated", UPN, "LOT7", None, "2027-12-31"),
    ({"bcid": "datamatrix", "text": "=/A9999XYZ100T0476=,000025=A99971712345600=>026120&,1000000000000XYZ123"}, "isbt_128", ["iccbba", "A9999XYZ100T0476"], "000000000000XYZ123", "000025", "2026-04-30"),
    ({"bcid": "code128", "text": "=/A9999XYZ100T0476"}, "isbt_128", ["iccbba", "A9999XYZ100T0476"], None, None, None),
]


class Images(unittest.TestCase):
    def test_every_symbol_is_read_to_the_identity_that_was_drawn(self):
        with tempfile.TemporaryDirectory() as folder:
            files = bwip_js.draw([drawn[0] for drawn in DRAWN], folder)
            texts = [symbols.only(file) for file in files]
        for drawn, text, answer in zip(DRAWN, texts, reader.read(texts)):
            _, form, identifier, lot, serial, expiry = drawn
            with self.subTest(symbol=drawn[0]["bcid"], text=text):
                self.assertNotIn("error", answer)
                self.assertEqual(answer["form"], form)
                self.assertEqual(list(answer["identifier"].values()), identifier)
                self.assertEqual([answer["lot"], answer["serial"], answer["expires_on"]], [lot, serial, expiry])

    def test_the_link_of_an_hibc_secondary_symbol_names_its_primary(self):
        # ANSI/HIBC 2.6 2.2: the secondary label ends in the primary's check character.
        with tempfile.TemporaryDirectory() as folder:
            primary = symbols.only(bwip_js.draw([{"bcid": "hibccode39", "text": "A999123455"}], folder)[0])
            secondary = {"bcid": "hibccode128", "text": "$$3271231LOT7" + primary[-1]}
            text = symbols.only(bwip_js.draw([secondary], folder)[0])
        answer = reader.read([text])[0]
        self.assertEqual((answer["form"], answer["link"], answer["lot"]), ("hibc_secondary", primary[-1], "LOT7"))


if __name__ == "__main__":
    unittest.main()
